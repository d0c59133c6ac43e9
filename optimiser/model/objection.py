"""What may speak against a stack that does what is asked: oil that boils, shims that do not last."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum


class Objection(Enum):
    """Why a stack is not listed although its forces would do."""

    BOILS = "oil would boil"
    """Inside one of the goal's bands, so that its figures there promise nothing."""

    OVERSTRESSED = "a shim would be overstressed"
    """Beyond the limit, and beyond what the stack in the damper has."""

    UNSURE = "too few dampers built like this keep all limits"
    """Fewer than were asked of the dampers that were drawn."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """How many stacks were left out, by what spoke against them.

    Parameters
    ----------
    boiling : their oil would boil inside a band.
    overstressed : a shim would be stressed beyond the limit.
    unsure : too few dampers built like this would keep all limits, where a chance was asked.
    """

    boiling: int = 0
    overstressed: int = 0
    unsure: int = 0

    @classmethod
    def of(cls, objections: Iterable[Objection]) -> LeftOut:
        """Count objections."""
        listed = list(objections)
        return cls(
            *(listed.count(one) for one in (Objection.BOILS, Objection.OVERSTRESSED, Objection.UNSURE))
        )

    def __add__(self, other: LeftOut) -> LeftOut:
        """Both together."""
        return LeftOut(
            self.boiling + other.boiling, self.overstressed + other.overstressed, self.unsure + other.unsure
        )

    def __bool__(self) -> bool:
        """Whether any was."""
        return self.boiling + self.overstressed + self.unsure > 0


NONE_LEFT_OUT = LeftOut()
