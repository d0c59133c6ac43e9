"""How a proof was checked: stacks that were ruled out, drawn at random and judged by the whole model."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Checked:
    """What was drawn, and what came of it.

    Parameters
    ----------
    drawn : stacks that were ruled out, drawn at random and judged by the whole model; none meets the goal.
    nearest : least share of the force by which one of them misses a limit; None when none was drawn. [-]
    margins : largest shares of the force by which bounds were widened, below and above; None where they
        differ too much from stack to stack for one figure to tell. [-]
    reopened : how often a stack that was drawn met the goal, and all was searched anew with wider margins.
    predicted : sets of shims that were ruled out by forces predicted from those of others; of millions, those
        that cannot be built are counted, too.
    """

    drawn: int
    nearest: float | None
    margins: tuple[float, float] | None
    reopened: int
    predicted: int = 0

    def __add__(self, other: Checked) -> Checked:
        """Both together, of searches that proved a part each."""
        near = [one.nearest for one in (self, other) if one.nearest is not None]
        return Checked(
            self.drawn + other.drawn,
            min(near, default=None),
            None,
            max(self.reopened, other.reopened),
            self.predicted + other.predicted,
        )


NOTHING_CHECKED: Final = Checked(0, None, None, 0)
"""No stack has been drawn yet."""
