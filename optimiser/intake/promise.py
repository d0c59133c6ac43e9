"""Bands that nobody gave in numbers end where the model's promise ends, and say so."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final, TypeVar

from optimiser.errors import InputError
from optimiser.intake.bands import Band, Stroke, TargetBand

AnyBand = TypeVar("AnyBand", bound=Band)

MARGIN: Final = 0.98
"""Share of the velocity where oil would boil at which a band ends, so that it ends before. [-]"""

SHORTEST: Final = 1.2
"""Least ratio of a band's fastest to its slowest velocity; what is left of a shorter one says nothing. [-]"""

REMEDY: Final = (
    "The remedy comes first: more gas pressure, as the maker's manual allows, or less resistance to the oil "
    "that refills that side (a check valve that sticks, oil that is too thick)."
)


def within_promise(
    bands: Sequence[AnyBand], promised: Mapping[Stroke, float]
) -> tuple[tuple[AnyBand, ...], tuple[str, ...]]:
    """Bands cut off where oil would boil, and a sentence for each that was cut or left out.

    Parameters
    ----------
    bands : from words or by default.
    promised : shaft velocity in each stroke up to which the model promises figures; inf for no end. [m/s]

    Raises
    ------
    InputError
        When a target lies wholly beyond it.
    """
    kept: list[AnyBand] = []
    said: list[str] = []
    for band in bands:
        end = MARGIN * promised[band.stroke]
        if band.high <= end:
            kept.append(band)
            continue
        boils = f"beyond {promised[band.stroke]:.2g} m/s the oil would boil on the low-pressure side"
        if band.low * SHORTEST <= end:
            kept.append(replace(band, high=end))
            said.append(f"{band.label} ends at {end:.2g} m/s: {boils}, and no figure can be promised.")
        elif isinstance(band, TargetBand):
            raise InputError(
                f"target band {band.label} lies where no figure can be promised: {boils} with the stack as "
                f"it is. {REMEDY}"
            )
        else:
            said.append(f"{band.label} is not judged: {boils}.")
    return tuple(kept), tuple(said)
