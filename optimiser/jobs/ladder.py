"""The ladder of a job: what each step of effort does to every band, and which step to take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from damping_model.stack.stack import Stack
from optimiser.model.answer import Candidate
from optimiser.model.band_result import BandResult, BandVerdict, band_result
from optimiser.model.goal import Goal, Role, Window
from optimiser.model.ladder import LadderRung
from optimiser.model.stock import Stock
from optimiser.model.taken import Taken, taken_from

Judged = tuple[Window, BandResult]
"""A band and what becomes of it."""


@dataclass(frozen=True, slots=True)
class LadderStep:
    """One step of effort, at its best.

    Parameters
    ----------
    rung : what was found.
    best : its first way in range, or its nearest.
    bands : what it does to every band of the goal.
    from_shelf : shims that it takes from the shelf.
    hours : what it takes on the bench; None where one stack alone is open, and the changes say it. [h]
    """

    rung: LadderRung
    best: Candidate
    bands: tuple[Judged, ...]
    from_shelf: tuple[Taken, ...]
    hours: float | None = None

    @property
    def verdict(self) -> BandVerdict:
        """That of the band that comes off worst."""
        return max((one.verdict for _, one in self.bands), key=list(BandVerdict).index)

    @property
    def worst(self) -> Judged | None:
        """The band that is missed by most; None where none is missed."""
        missed = [one for one in self.bands if one[1].missed_by > 0]
        return max(missed, key=lambda one: one[1].missed_by, default=None)

    @property
    def targets(self) -> tuple[Judged, ...]:
        """The bands that are to move."""
        return tuple(one for one in self.bands if one[0].role is Role.TARGET)

    @property
    def elsewhere(self) -> tuple[Window, float] | None:
        """The held band that moves most, and by how much, with its sign; None where none is held. [-]"""
        held = [one for one in self.bands if one[0].role is Role.HOLD]
        moved = [(window, max(one.least, one.most, key=abs)) for window, one in held]
        return max(moved, key=lambda one: abs(one[1]), default=None)

    @property
    def felt(self) -> bool:
        """Whether a rider may feel what it misses."""
        return any(one.felt for _, one in self.bands)


class Advice(Enum):
    """Why a step is the one to take."""

    IN_RANGE = "the least effort in range"
    NEAR_ENOUGH = "less effort than the first in range, and it misses by less than a rider feels"


@dataclass(frozen=True, slots=True)
class Recommended:
    """The step to take.

    Parameters
    ----------
    step : which.
    advice : why.
    """

    step: LadderStep
    advice: Advice


def judged(goal: Goal, one: Candidate) -> tuple[Judged, ...]:
    """What a candidate does to every band of a goal."""
    return tuple((window, band_result(window, one.forces[part])) for window, part in goal.parts)


def steps_of(rungs: Sequence[LadderRung], goal: Goal, *, old: Stack, stock: Stock) -> tuple[LadderStep, ...]:
    """The steps of a ladder, from clicks alone upwards; those that nothing is known of are left out.

    Parameters
    ----------
    rungs : of the search.
    goal : what was asked.
    old : the stack as it is.
    stock : the shelf.
    """
    steps = []
    for rung in rungs:
        best = rung.best
        if best is None:
            continue
        taken = taken_from(stock, old=old, new=best.stack)
        steps.append(LadderStep(rung, best, judged(goal, best), taken))
    return tuple(steps)


def recommended(steps: Sequence[LadderStep], *, least: int = 0) -> Recommended | None:
    """The least work in range, or a lower step that misses by less than a rider feels; None for neither.

    Parameters
    ----------
    steps : from clicks alone upwards.
    least : fewest changes that are recommended: fewer lack the chance that was asked.
    """
    for step in steps:
        if step.rung.changes < least:
            continue
        if step.rung.in_range:
            in_range = [one for one in steps if one.rung.in_range and one.rung.changes >= step.rung.changes]
            return Recommended(min(in_range, key=lambda one: one.hours or 0.0), Advice.IN_RANGE)
        if not step.felt:
            return Recommended(step, Advice.NEAR_ENOUGH)
    return None
