"""Bands as a tuner asks for them: a stroke, a range of shaft velocity, and what is wanted there."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from optimiser.errors import InputError
from optimiser.model.percent import share_text

Stroke = Literal["compression", "rebound"]

SIGN: Final[dict[Stroke, float]] = {"compression": 1.0, "rebound": -1.0}
"""Sign of the shaft velocity in each stroke."""

RIGHT_WAY: Final = (1 / 3, 2.5)
"""Parts of the wanted shift that each velocity of a target moves by, at least and at most; common practice,
no source. A shop may say otherwise in its table of symptoms. [-]"""


@dataclass(frozen=True, slots=True)
class Band:
    """A range of shaft velocity in one stroke.

    Parameters
    ----------
    name : what the tuner calls it.
    stroke : shaft going in or coming out.
    low, high : slowest and fastest shaft velocity, both positive in either stroke. [m/s]
    tolerance : how far the force may end from the wanted one, as a share of the force before. [-]

    Raises
    ------
    InputError
        Naming the band, what was got and what was expected.
    """

    name: str
    stroke: Stroke
    low: float
    high: float
    tolerance: float

    def __post_init__(self) -> None:
        """Refuse a range that runs backwards and numbers that are none."""
        if self.stroke not in SIGN:
            raise InputError(
                f"band '{self.name}': got stroke {self.stroke!r}, expected compression or rebound."
            )
        for field in ("low", "high", "tolerance"):
            value = getattr(self, field)
            if not (math.isfinite(value) and value > 0):
                raise InputError(f"band '{self.name}': got {field} {value}, expected a number above 0.")
        if self.low >= self.high:
            raise InputError(
                f"band '{self.name}': got {self.low:g} to {self.high:g} m/s, "
                "expected the lower velocity first. Swap them."
            )

    @property
    def label(self) -> str:
        """The band as a message names it."""
        return f"'{self.name}' ({self.stroke} {self.low:.3g} to {self.high:.3g} m/s)"

    def meets(self, other: Band) -> bool:
        """Whether two bands share a velocity, be it only an end."""
        return self.stroke == other.stroke and self.low <= other.high and other.low <= self.high


@dataclass(frozen=True, slots=True)
class HoldBand(Band):
    """A band whose force stays within the tolerance of what it is."""


@dataclass(frozen=True, slots=True)
class TargetBand(Band):
    """A band whose force is to move; either by a share of the force before, or by a force.

    Parameters
    ----------
    shift : wanted change as a share of the force before; -0.08 takes eight percent away. [-]
    shift_force : wanted change at the shaft. [N]
    at_every_velocity : whether each velocity has to move by that, within the tolerance, and not the band's
        average alone.
    in_words : whether the shift is a first step from words and no figure that anybody asked for: the limits
        at each velocity then follow the least and the most average that will do.
    """

    shift: float | None = None
    shift_force: float | None = None
    at_every_velocity: bool = False
    in_words: bool = False

    def __post_init__(self) -> None:
        """Refuse a target that asks for nothing, for two things, or for a force that pushes."""
        Band.__post_init__(self)
        asked = [value for value in (self.shift, self.shift_force) if value is not None]
        if len(asked) != 1:
            raise InputError(
                f"target {self.label}: got {len(asked)} shifts, expected one: "
                "either a share of the force or newtons."
            )
        if not math.isfinite(asked[0]) or asked[0] == 0:
            raise InputError(
                f"target {self.label}: got a shift of {asked[0]}, expected a number other than 0. "
                "A band that stays is a held band."
            )
        if self.shift is not None and self.shift <= -1:
            raise InputError(
                f"target {self.label}: got a shift of {share_text(self.shift)}, expected more than −100 %: "
                "a damper cannot push."
            )
