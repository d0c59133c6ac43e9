"""One change in each of several stacks at once: the sums of what the changes do, gone through.

A sum is put together stack by stack. One that misses the goal whatever the stacks that are still to come may
add goes no further, and what is left at the end is judged by exact forces, the closest first.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.stack_sums import summed
from damping_model.stack.stack import Stack
from optimiser.search.goal_metrics import GoalMetrics, Limits
from optimiser.several.found import Found
from optimiser.several.one_change import OneChange
from optimiser.several.rows import TargetErrors, misfits, surely_outside

Floats = NDArray[np.float64]
Places = NDArray[np.intp]
Flags = NDArray[np.bool_]

ROWS: Final = 100_000
"""Sums that are held against the windows at a time. [-]"""

NEARER: Final = 5
"""Sums that miss the goal and are judged exactly, so that a near one is known. [-]"""

NEAREST_OF: Final = 2
"""Stacks of a sum at most for which that is done. [-]"""


class Sums:
    """Sums of one change in each of some stacks.

    Parameters
    ----------
    metrics : of the goal.
    before : force with all stacks as they are (velocities,). [N]
    lists : one change of each stack.
    places : of those stacks among the open ones.
    wait : called now and then; may raise to end it.
    """

    def __init__(
        self,
        metrics: GoalMetrics,
        before: Floats,
        lists: Sequence[OneChange],
        places: Sequence[int],
        wait: Callable[[], None],
    ) -> None:
        self._metrics, self.before = metrics, before
        self.lists, self.places, self._wait = list(lists), list(places), wait

    def left(self, limits: Limits, *, open_at: Flags | None = None) -> Places:
        """Which sums may keep to some limits: places in each list (sums, lists).

        Parameters
        ----------
        limits : of the goal.
        open_at : velocities at which something else may add any force besides (velocities,).
        """
        velocities = self.before.size
        any_force = np.where(np.zeros(velocities, np.bool_) if open_at is None else open_at, np.inf, 0.0)
        chosen: Places = np.zeros((1, 0), dtype=np.intp)
        low, high = self.before[None, :], self.before[None, :]
        for number, one in enumerate(self.lists):
            later = self.lists[number + 1 :]
            count = len(one.stacks)
            if not count or not all(len(other.stacks) for other in later):
                return np.zeros((0, len(self.lists)), dtype=np.intp)
            least = sum((other.low.min(axis=0) for other in later), -any_force)
            most = sum((other.high.max(axis=0) for other in later), any_force)
            kept = [chosen[:0, :0].reshape(0, number + 1)]
            lows, highs = [low[:0]], [high[:0]]
            for start in range(0, len(chosen), max(ROWS // count, 1)):
                self._wait()
                part = slice(start, start + max(ROWS // count, 1))
                new_low = (low[part, None] + one.low[None]).reshape(-1, velocities)
                new_high = (high[part, None] + one.high[None]).reshape(-1, velocities)
                out = surely_outside(self._metrics, limits, new_low + least, new_high + most)
                rows = np.flatnonzero(~out)
                kept.append(np.column_stack([chosen[start + rows // count], rows % count]))
                if later:
                    lows.append(new_low[rows])
                    highs.append(new_high[rows])
            chosen = np.concatenate(kept)
            low, high = np.concatenate(lows), np.concatenate(highs)
        return chosen

    def bounds(self, chosen: Places) -> tuple[Floats, Floats]:
        """Below and above what each sum adds to the force (sums, velocities). [N]"""
        low = sum((one.low[chosen[:, k]] for k, one in enumerate(self.lists)), np.zeros(()))
        high = sum((one.high[chosen[:, k]] for k, one in enumerate(self.lists)), np.zeros(()))
        return np.asarray(low), np.asarray(high)

    def coarse(self, chosen: Places) -> Floats:
        """What each sum adds to the force, coarsely (sums, velocities). [N]"""
        return np.asarray(sum(one.changes[chosen[:, k]] for k, one in enumerate(self.lists)))

    def exact(self, row: Sequence[int]) -> Floats | None:
        """Force with the changes of one sum and nothing else (velocities,); None without an answer. [N]"""
        alone = []
        for one, place in zip(self.lists, row, strict=True):
            forces = one.exact(int(place))
            if forces is None:
                return None
            alone.append(forces)
        return summed(self.before, alone)

    def stacks(self, row: Sequence[int], present: Sequence[Stack]) -> tuple[Stack, ...]:
        """All open stacks with the changes of one sum."""
        stacks = list(present)
        for one, place, at in zip(self.lists, row, self.places, strict=True):
            stacks[at] = one.stacks[int(place)]
        return tuple(stacks)

    def look_at(self, found: Found) -> None:
        """Judge all sums that may meet the goal and be among the closest; then none is left."""
        errors = TargetErrors(found.problem.goal, self._metrics)
        chosen = self.left(self._metrics.limits_within(found.error_to_beat))
        least = np.zeros(len(chosen))
        for start in range(0, len(chosen), ROWS):
            low, high = self.bounds(chosen[start : start + ROWS])
            least[start : start + ROWS] = errors.least(self.before + low, self.before + high)
        for number in np.argsort(least, kind="stable").tolist():
            if least[number] > found.error_to_beat:
                return
            self._look_at_one(chosen[number], found)

    def look_at_nearest(self, found: Found) -> None:
        """Judge what comes nearest to a goal by coarse forces: of one change, or of sums of two."""
        if len(self.lists) > NEAREST_OF:
            return
        one, other = self.lists[0].changes, np.zeros((1, self.before.size))
        if len(self.lists) == NEAREST_OF:
            other = self.lists[1].changes
        best: list[tuple[float, int, int]] = []
        for place, changes in enumerate(one):
            self._wait()
            off = misfits(self._metrics, self.before + changes + other)
            best += [(float(off[k]), place, int(k)) for k in np.argsort(off, kind="stable")[:NEARER]]
            best = sorted(best)[:NEARER]
        for _, *row in best:
            self._look_at_one(row[: len(self.lists)], found)

    def _look_at_one(self, row: Sequence[int], found: Found) -> None:
        self._wait()
        stacks = self.stacks(row, found.problem.present)
        if found.problem.shelf_allows(stacks):
            forces = self.exact(row)
            if forces is not None:
                found.look_at(stacks, forces)
