"""How a proof was checked: stacks that were ruled out, drawn at random and judged by the whole model."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Checked:
    """What was drawn, and what came of it.

    Parameters
    ----------
    drawn : stacks that were ruled out, drawn at random and judged by the whole model; none meets the goal.
    nearest : least share of the force by which one of them misses a limit; None when none was drawn. [-]
    margins : largest shares of the force by which bounds were widened, below and above. [-]
    reopened : how often a stack that was drawn met the goal, and all was searched anew with wider margins.
    predicted : sets of shims that were ruled out by forces predicted from those of others.
    """

    drawn: int
    nearest: float | None
    margins: tuple[float, float]
    reopened: int
    predicted: int = 0
