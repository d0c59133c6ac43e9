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


@dataclass(frozen=True, slots=True)
class LeftOut:
    """How many stacks were left out, by what spoke against them.

    Parameters
    ----------
    boiling : their oil would boil inside a band.
    overstressed : a shim would be stressed beyond the limit.
    """

    boiling: int = 0
    overstressed: int = 0

    @classmethod
    def of(cls, objections: Iterable[Objection]) -> LeftOut:
        """Count objections."""
        listed = list(objections)
        return cls(listed.count(Objection.BOILS), listed.count(Objection.OVERSTRESSED))

    def __add__(self, other: LeftOut) -> LeftOut:
        """Both together."""
        return LeftOut(self.boiling + other.boiling, self.overstressed + other.overstressed)

    def __bool__(self) -> bool:
        """Whether any was."""
        return self.boiling + self.overstressed > 0


NONE_LEFT_OUT = LeftOut()
