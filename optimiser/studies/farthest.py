"""The objective that moves one band as far as it goes, with the other windows held meanwhile."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.model import rank
from optimiser.model.answer import Candidate
from optimiser.model.goal import LEAST_FORCE, Goal, Role, Window, mean_weights, room_around_desired
from optimiser.search.goal_metrics import Windows, surely_outside

Floats = NDArray[np.float64]

LEAST: Final = -1
MOST: Final = 1
"""The two sides to which a band can be moved."""

TIES: Final = 1e-9
"""Shifts closer than this are the same. [-]"""

FAR: Final = {LEAST: -0.3, MOST: 0.3}
"""Shift that a search is sent after, for its order of work alone: far, yet so that held windows count. [-]"""


class FarthestShift:
    """The stack that moves one band furthest to one side while every other window is met.

    Parameters
    ----------
    goal : the windows that are held; the moved one without bounds.
    place : which window is moved.
    side : the least average shift or the most.
    best : the incumbent, which is given when nothing goes further.
    """

    def __init__(self, goal: Goal, *, place: int, side: int, best: Candidate) -> None:
        self.goal, self.side, self.best = goal, side, best
        self._lower, self._upper = goal.lower, goal.upper
        _, self._moved = goal.parts[place]
        self._before = np.maximum(goal.before[self._moved], LEAST_FORCE)
        self._weights = mean_weights(goal.windows[place].velocities)
        self.shift = self.shift_of(np.asarray(best.forces))

    def shift_of(self, forces: Floats) -> float:
        """Average shift of the band. [-]"""
        return float(
            np.expm1(self._weights @ np.log(np.maximum(forces[self._moved], LEAST_FORCE) / self._before))
        )

    def thresholds(self, soft: Floats, stiff: Floats, low: Floats, high: Floats) -> Windows:  # noqa: ARG002
        """The held windows; for the moved band forces that add up to the incumbent.

        They are in proportion to what the outermost member is estimated to give at each velocity.
        """
        lower, upper = self._lower.copy(), self._upper.copy()
        outermost = (stiff if self.side == MOST else soft)[self._moved]
        if not (np.isfinite(outermost).all() and (outermost > 0).all()):
            outermost = self._before
        apart = np.log1p(self.shift) - self._weights @ np.log(outermost / self._before)
        (lower if self.side == MOST else upper)[self._moved] = outermost * np.exp(apart)
        return lower, upper

    def prunes(self, low: Floats, high: Floats) -> bool:
        """A held window is surely missed, or nothing lies further out than the incumbent."""
        return surely_outside(low, high, (self._lower, self._upper)) or not self._further(
            high if self.side == MOST else low
        )

    def accepts(self, forces: Floats) -> bool:
        """Every held window is met, and the band moved further than by the incumbent."""
        met = (forces >= self._lower).all() and (forces <= self._upper).all()
        return bool(met) and self._further(forces)

    def record(self, one: Candidate) -> None:
        """The new furthest, judged by the windows that are held."""
        forces = np.asarray(one.forces)
        self.shift = self.shift_of(forces)
        self.best = replace(
            one,
            misfit=rank.misfit(self.goal, forces),
            target_error=rank.target_error(self.goal, forces),
            change_elsewhere=rank.change_elsewhere(self.goal, forces),
        )

    def _further(self, forces: Floats) -> bool:
        return self.side * (self.shift_of(forces) - self.shift) > TIES


def tolerance_of(window: Window) -> float:
    """The wider side of a window, as a share of the force before: a limit may have cut the other. [-]"""
    return float(np.max(np.maximum(*room_around_desired(window)) / np.array(window.before)))


def held_window(window: Window) -> Window:
    """A target as the held band that it is while another is moved; other windows as they are."""
    if window.role is not Role.TARGET:
        return window
    before, tolerance = np.array(window.before), tolerance_of(window)
    return replace(
        window,
        role=Role.HOLD,
        lower=tuple(map(float, before * max(1 - tolerance, 0.0))),
        desired=window.before,
        average=None,
        upper=tuple(map(float, before * (1 + tolerance))),
    )


def opened(held: Goal, place: int) -> Goal:
    """The windows that are held; the moved one without bounds."""
    moved = held.windows[place]
    size = len(moved.velocities)
    return _with(
        held,
        place,
        replace(moved, role=Role.SHOWN, lower=(-np.inf,) * size, upper=(np.inf,) * size, average=None),
    )


def sent_outwards(held: Goal, place: int, side: int) -> Goal:
    """The same for the order of work: the moved band is a target far out, with its own tolerance."""
    moved = held.windows[place]
    before, tolerance = np.array(moved.before), tolerance_of(moved)
    lower, desired, upper = (
        tuple(map(float, before * (1 + FAR[side] + edge))) for edge in (-tolerance, 0.0, tolerance)
    )
    return _with(
        held, place, replace(moved, role=Role.TARGET, lower=lower, desired=desired, upper=upper, average=None)
    )


def _with(goal: Goal, place: int, window: Window) -> Goal:
    return replace(goal, windows=(*goal.windows[:place], window, *goal.windows[place + 1 :]))
