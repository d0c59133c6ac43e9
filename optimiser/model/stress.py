"""The highest stress in a stack, and what it may be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from damping_model.stack.steel import SpringSteel
from damping_model.stack.stress import ShimStress

USUAL_LIMIT: Final = SpringSteel().fatigue_limit
"""What a shim is not stressed beyond unless a job says otherwise. [Pa]"""


MORE_STRESS: Final = 0.1
"""Share by which a stack beyond the limit may be stressed further than the one that has lived there; common
practice, no source. [-]"""


@dataclass(frozen=True, slots=True)
class StackStress:
    """The highest stress in a stack at one pressure.

    Parameters
    ----------
    worst : which shim, how much, and where.
    pressure : drop across the face. [Pa]
    """

    worst: ShimStress
    pressure: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StressRule:
    """How far a shim may be stressed.

    Parameters
    ----------
    limit : of the highest von Mises stress. [Pa]
    reason : why the search does not keep to it; None when it does.
    """

    limit: float = USUAL_LIMIT
    reason: str | None = None

    @property
    def kept(self) -> float | None:
        """The limit that the search keeps to; None for none. [Pa]"""
        return self.limit if self.reason is None else None


USUAL_RULE: Final = StressRule()
