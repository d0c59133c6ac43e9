"""Oil as the bottle says it: cSt at 40 °C, an ISO grade, or a weight, which says little."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from damping_model.flow.oil import ISO_VISCOSITY_GRADES, Oil, iso_vg
from damping_model.units import CENTISTOKES, kelvin
from optimiser.errors import InputError
from optimiser.files.entry.part import Part

WEIGHTS: Final = {2.5: 11.0, 5.0: 17.0, 7.5: 25.0, 10.0: 34.0, 15.0: 50.0, 20.0: 70.0, 30.0: 100.0}
"""What bottles hold by the weight that they print; common practice, no source. [mm²/s at 40 °C]"""

WEIGHT_OFF: Final = 35.0
"""Bottles of one weight differ by so much: no standard binds the word for damper oils. [%]"""

THINNEST, THICKEST = 2.2, 150.0
"""What damper oils are sold as. [mm²/s at 40 °C]"""

EXPECTED: Final = (
    "expected what the bottle says: '16 cSt' (at 40 °C), '16 cSt at 40, 4 at 100', 'ISO VG 15', or its "
    "weight like '5W'"
)


def oil_of(text: str) -> Mapping[str, Part]:
    """The oil's name and its thickness at 40 and 100 °C.

    A thickness at 40 °C alone is taken to thin as mineral oils do, with a viscosity index of 100.

    Raises
    ------
    InputError
        When it says none of these, or is thinner or thicker than damper oils are.
    """
    plain = " ".join(re.sub(r"(?<=\d),(?=\d)", ".", text.lower().replace("²", "2")).split())
    if grade := re.fullmatch(r"(?:iso\s*)?vg\s*(\d+)", plain):
        return _of_grade(int(grade[1]), text)
    if weight := re.fullmatch(r"(?:sae\s*)?(\d+(?:\.\d+)?)\s*(?:w|wt|weight)?\.?", plain):
        return _of_weight(float(weight[1]), text)
    unit = r"(?:cst|mm2/s|mm2 /s|mm2)"
    figures = re.fullmatch(
        rf"(\d+(?:\.\d+)?)\s*{unit}(?:\s*(?:at|@)\s*40\s*(?:°?c)?)?"
        rf"(?:\s*[,;]?\s*(?:and\s*)?(\d+(?:\.\d+)?)\s*{unit}?\s*(?:at|@)\s*100\s*(?:°?c)?)?",
        plain,
    )
    if figures is None:
        raise InputError(f"got {text!r}, {EXPECTED}.")
    warm = float(figures[1])
    _refuse_no_oil(warm, text)
    hot = float(figures[2]) if figures[2] else _hot_of(warm)
    return _parts(f"{warm:g} cSt at 40 °C", warm, hot)


def _of_grade(grade: int, text: str) -> Mapping[str, Part]:
    known = {round(middle): middle for middle in ISO_VISCOSITY_GRADES}
    if grade not in known:
        raise InputError(f"got {text!r}, expected a grade of {', '.join(map(str, known))}.")
    return _parts(f"ISO VG {grade}", known[grade], _hot_of(known[grade]))


def _of_weight(weight: float, text: str) -> Mapping[str, Part]:
    if weight not in WEIGHTS:
        raise InputError(
            f"got {text!r}, expected a weight of {', '.join(f'{one:g}' for one in WEIGHTS)}, or the figure "
            "in cSt at 40 °C from the bottle's sheet."
        )
    warm = WEIGHTS[weight]
    return _parts(f"{weight:g} weight, as the bottle says", warm, _hot_of(warm), off=WEIGHT_OFF)


def oil_parts(warm: float, *, off: float) -> Mapping[str, Part]:
    """An oil that is only usual for its kind of damper. [mm²/s at 40 °C], [%]"""
    return _parts("damper oil, not known", warm, _hot_of(warm), off=off)


def _parts(name: str, warm: float, hot: float, *, off: float | None = None) -> Mapping[str, Part]:
    viscosity = {"40": float(f"{warm:.4g}"), "100": float(f"{hot:.4g}")}
    return {"name": Part(name), "viscosity": Part(viscosity, off)}


def _hot_of(warm: float) -> float:
    """Thickness at 100 °C of a mineral oil, between the two ISO grades that it lies between. [mm²/s]"""
    grades = sorted(ISO_VISCOSITY_GRADES)
    below = max((grade for grade in grades if grade <= warm), default=grades[0])
    above = min((grade for grade in grades if grade >= warm), default=grades[-1])
    thin, thick = (_at_100(iso_vg(round(grade))) for grade in (below, above))
    part = 0.0 if above == below else (warm - below) / (above - below)
    return float(thin + part * (thick - thin))


def _at_100(oil: Oil) -> float:
    return oil.kinematic_viscosity(temperature=kelvin(celsius=100)) / CENTISTOKES


def _refuse_no_oil(warm: float, text: str) -> None:
    if not THINNEST <= warm <= THICKEST:
        raise InputError(
            f"got {text!r}, expected {THINNEST:g} to {THICKEST:g} cSt at 40 °C, as damper oils have; is it "
            "the figure at 40 °C?"
        )
