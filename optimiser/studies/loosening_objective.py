"""The objective that looks for the smallest loosening of every window at once.

A stack is of use when it misses one window alone. So a family is pruned when it surely misses two, or one by
more than the incumbent of that window, whichever window that may turn out to be.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from optimiser.model.answer import Candidate
from optimiser.model.goal import LEAST_FORCE, Goal
from optimiser.search.goal_metrics import GoalMetrics, Limits, Windows
from optimiser.studies.loosenable import Loosenable

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

TIES = 1e-9
"""Values closer than this are the same. [-]"""


@dataclass(frozen=True, slots=True)
class Incumbent:
    """The smallest loosening of one window so far.

    Parameters
    ----------
    value : that the window has to be given, as a share of the force before. [-]
    candidate : a stack that needs no more, judged by the goal as it is.
    """

    value: float
    candidate: Candidate


class SmallestLoosenings:
    """The smallest loosening of every window, with all other windows as they are.

    Parameters
    ----------
    goal : that nothing meets as it is.
    loosenable : its windows that can be loosened.

    Attributes
    ----------
    best : the incumbents, by the window's place.
    met : a stack that meets the goal as it is, should there be one.
    """

    def __init__(self, goal: Goal, loosenable: Sequence[Loosenable]) -> None:
        self.metrics = GoalMetrics(goal)
        self.best: dict[int, Incumbent] = {}
        self.met: Candidate | None = None
        self._goal, self._loosenable = goal, {one.place: one for one in loosenable}
        self._parts = [part for _, part in goal.parts]
        self._starts = np.array([part.start for part in self._parts], dtype=np.intp)
        self._averaged = [place for place, window in enumerate(goal.windows) if window.average is not None]
        self._own = _limits(goal)
        self._loose = self._own
        self._loosened: dict[tuple[int, ...], Limits] = {}
        self._hulls = goal
        for one in loosenable:
            self._loosen(one, np.inf)

    def thresholds(self, soft: Floats, stiff: Floats, low: Floats, high: Floats) -> Windows:
        """The windows; where one is missed, or will be by the estimate, what its incumbent needs."""
        missed = self._missed(low, high, self._own)
        if not missed.any():
            missed = self._missed(soft, stiff, self._loose)
        return self.metrics.thresholds(self._with(missed), soft, stiff, low, high)

    def prunes(self, low: Floats, high: Floats) -> bool:
        """Two windows are surely missed, or one by more than its incumbent."""
        missed = self._missed(low, high, self._own)
        count = int(missed.sum())
        return count > 1 or (count == 1 and bool(self._missed(low, high, self._loose).any()))

    def accepts(self, forces: Floats) -> bool:
        """One window alone is missed, and by less than by its incumbent; or none is."""
        place = self._only_missed(forces)
        if place is None:
            return False
        return self.met is None if place < 0 else self._value(place, forces) is not None

    def record(self, one: Candidate) -> None:
        """The new incumbent of the window that it misses."""
        forces = np.asarray(one.forces)
        place = self._only_missed(forces)
        if place is None:
            return
        if place < 0:
            self.met = self.met or one
            return
        value = self._value(place, forces)
        if value is not None:
            self.best[place] = Incumbent(value, one)
            loosenable = self._loosenable[place]
            self._loosen(loosenable, abs(value - loosenable.present) - TIES)

    def part(self, place: int) -> slice:
        """Where a window lies among the goal's velocities."""
        return self._parts[place]

    def _value(self, place: int, forces: Floats) -> float | None:
        """What a window has to be given; None where that is no better than its incumbent."""
        if self._outside(forces, self._loose)[place] or place not in self._loosenable:
            return None
        loosenable = self._loosenable[place]
        value = loosenable.closest(forces[self._parts[place]])
        known = self.best.get(place)
        if value is None or known is None:
            return value
        present = loosenable.present
        return value if abs(value - present) < abs(known.value - present) - TIES else None

    def _only_missed(self, forces: Floats) -> int | None:
        """The one window that is missed, -1 for none; None for several."""
        missed = np.flatnonzero(self._outside(forces, self._own))
        if missed.size > 1:
            return None
        return int(missed[0]) if missed.size else -1

    def _loosen(self, one: Loosenable, distance: float) -> None:
        """Let one window be as wide as its incumbent leaves it."""
        windows = self._hulls.windows
        hull = one.hull(max(distance, 0.0))
        self._hulls = replace(self._hulls, windows=(*windows[: one.place], hull, *windows[one.place + 1 :]))
        self._loose = _limits(self._hulls)
        self._loosened.clear()

    def _with(self, loosened: Flags) -> Limits:
        """The limits with some windows as wide as their incumbents leave them."""
        places = tuple(int(place) for place in np.flatnonzero(loosened))
        if not places:
            return self._own
        if places not in self._loosened:
            lower, upper = self._own.lower.copy(), self._own.upper.copy()
            least, most = self._own.least.copy(), self._own.most.copy()
            for place in places:
                part = self._parts[place]
                lower[part], upper[part] = self._loose.lower[part], self._loose.upper[part]
                if place in self._averaged:
                    k = self._averaged.index(place)
                    least[k], most[k] = self._loose.least[k], self._loose.most[k]
            self._loosened[places] = Limits(lower, upper, least, most)
        return self._loosened[places]

    def _missed(self, low: Floats, high: Floats, limits: Limits) -> Flags:
        """Which windows forces above ``low`` and below ``high`` surely miss (windows,)."""
        missed = np.logical_or.reduceat((high <= limits.lower) | (low >= limits.upper), self._starts)
        if self._averaged:
            with np.errstate(divide="ignore", invalid="ignore"):
                least = self.metrics.means(np.log(np.maximum(low, 0.0)))
                most = self.metrics.means(np.log(np.maximum(high, LEAST_FORCE)))
            missed[self._averaged] |= (least >= limits.most) | (most <= limits.least)
        return np.asarray(missed)

    def _outside(self, forces: Floats, limits: Limits) -> Flags:
        """Which windows forces miss (windows,)."""
        outside = np.logical_or.reduceat((forces < limits.lower) | (forces > limits.upper), self._starts)
        if self._averaged:
            means = self.metrics.means(np.log(np.maximum(forces, LEAST_FORCE)))
            outside[self._averaged] |= (means < limits.least) | (means > limits.most)
        return np.asarray(outside)


def _limits(goal: Goal) -> Limits:
    metrics = GoalMetrics(goal)
    return Limits(metrics.lower, metrics.upper, metrics.least, metrics.most)
