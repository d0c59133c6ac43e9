"""Sentences in the reader's units: what layers below wrote in SI and bench units is written again here."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Final

from damping_model.units import BAR, MILLIMETRE, POUND_MASS
from optimiser.report.unit_system import UnitSystem

_NUMBER: Final = r"[−-]?\d[\d,]*(?:\.\d+)?"
_QUANTITY: Final = re.compile(
    rf"(?<![\w.x])(?P<first>{_NUMBER})(?:(?P<between> (?:to|and|or|of) )(?P<last>{_NUMBER}))?"
    r" (?P<unit>m/s|N/mm|MPa|bar|mm|kg|°C|N)(?![\w/²³]| m\b)"
)
"""One or two numbers before a unit; 'N m' and 'kg/m³' are none of these."""

_IMPERIAL: Final[Mapping[str, tuple[Callable[[float], float], str]]] = {
    "m/s": (UnitSystem.IMPERIAL.velocity, "in/s"),
    "N": (UnitSystem.IMPERIAL.force, "lbf"),
    "mm": (lambda value: UnitSystem.IMPERIAL.length(value * MILLIMETRE), "in"),
    "bar": (lambda value: UnitSystem.IMPERIAL.pressure(value * BAR), "psi"),
    "MPa": (lambda value: UnitSystem.IMPERIAL.pressure(value * 1e6) / 1000, "ksi"),
    "N/mm": (lambda value: UnitSystem.IMPERIAL.stiffness(value / MILLIMETRE), "lbf/in"),
    "kg": (lambda value: value / POUND_MASS, "lb"),
    "°C": (lambda value: 1.8 * value + 32, "°F"),
}


def in_units(text: str, units: UnitSystem) -> str:
    """A sentence with every quantity in the reader's units, to three figures; shim sizes stay as they are.

    >>> in_units("Aim for 35 mm at the wheel; 0.06 to 0.12 m/s; 17x0.10.", UnitSystem.IMPERIAL)
    'Aim for 1.38 in at the wheel; 2.36 to 4.72 in/s; 17x0.10.'

    Parameters
    ----------
    text : a sentence of shimwright's own, not a person's words.
    units : what the reader reads.
    """
    return text if units is UnitSystem.METRIC else _QUANTITY.sub(_imperial, text)


def _imperial(found: re.Match[str]) -> str:
    convert, unit = _IMPERIAL[found["unit"]]

    def written(number: str) -> str:
        value = convert(float(number.replace(",", "").replace("−", "-")))
        return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.3g}"

    last = "" if found["last"] is None else found["between"] + written(found["last"])
    return f"{written(found['first'])}{last} {unit}"
