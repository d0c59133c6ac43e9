"""Several changes of one stack beside one change of others: an objective for the tree of the one stack.

A family of the tree is of no use when its forces, with whatever the other stacks may add, surely miss the
goal. Each of their sums is held against the bounds of the family by itself, so a family closes once none of
them is left.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.stack_sums import summed
from optimiser.model.answer import Candidate
from optimiser.model.goal import LEAST_FORCE
from optimiser.search.goal_metrics import GoalMetrics, Windows
from optimiser.several.against_sums import AgainstSums
from optimiser.several.found import Found
from optimiser.several.rows import TargetErrors, surely_outside
from optimiser.several.sums import Places, Sums

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

CELL: Final = 0.5
"""Sums that fall into cells of so many half-widths of a window are bounded together. [-]"""

LIKELY: Final = 0.01
"""Share of the force by which an estimate has to pass a threshold that is worth a test. [-]"""


class BesideObjective:
    """Accepts stacks that meet the goal together with one of the sums of others.

    Parameters
    ----------
    place : of the stack whose tree is searched, among the open ones.
    sums : one change of each of the others.
    chosen : those of the sums that may be of use (sums, lists).
    metrics : of the goal.
    found : judges and keeps what is found.
    silent : velocities at which the tree's stack has no say (velocities,).
    """

    def __init__(
        self,
        place: int,
        sums: Sums,
        chosen: Places,
        *,
        metrics: GoalMetrics,
        found: Found,
        silent: Flags,
    ) -> None:
        self._place, self._sums, self._found = place, sums, found
        self._metrics, self._silent = metrics, silent
        self._errors = TargetErrors(found.problem.goal, metrics)
        self._chosen = chosen
        self._low, self._high = sums.bounds(chosen)
        self._boxes = _alike(self._low, self._high, CELL * metrics.relative_half_width * metrics.desired)

    @property
    def against(self) -> AgainstSums:
        """The same, for many stacks at a time."""
        limits = self._metrics.limits_within(self._found.error_to_beat)
        return AgainstSums(self._metrics, limits, self._boxes, self._silent, self._sums.before)

    def prunes(self, low: Floats, high: Floats) -> bool:
        """With every sum some velocity is surely outside its window, or enough found that are closer."""
        return not self._possible(low, high, self._boxes).any()

    def accepts(self, forces: Floats) -> bool:
        """Whether a sum may make up what is missing."""
        return bool(self._possible(forces, forces, (self._low, self._high)).any())

    def record(self, one: Candidate) -> None:
        """Judge a stack with every sum that may make up what is missing, the closest first."""
        forces, found = np.asarray(one.forces), self._found
        rows = np.flatnonzero(self._possible(forces, forces, (self._low, self._high)))
        least = self._errors.least(forces + self._low[rows], forces + self._high[rows])
        for number in np.argsort(least, kind="stable").tolist():
            if least[number] > found.error_to_beat:
                return
            row: Sequence[int] = self._chosen[rows[number]]
            stacks = list(self._sums.stacks(row, found.problem.present))
            stacks[self._place] = one.stack
            if found.problem.shelf_allows(stacks):
                beside = self._sums.exact(row)
                if beside is not None:
                    found.look_at(stacks, summed(self._sums.before, (forces, beside)))

    def thresholds(self, soft: Floats, stiff: Floats, low: Floats, high: Floats) -> Windows:
        """Forces that would rule out as many sums as the estimates bear out; else the last of them."""
        limits = self._metrics.limits_within(self._found.error_to_beat)
        rows = np.flatnonzero(self._possible(low, high, self._boxes))
        if not rows.size:
            return limits.lower, limits.upper
        least, most = self._boxes[0][rows], self._boxes[1][rows]
        upper = _reached(limits.upper - least, soft * (1 - LIKELY))
        lower = -_reached(most - limits.lower, -stiff * (1 + LIKELY))
        for part in self._metrics.averaged:
            hardest = int(least[:, part].sum(axis=1).argmin()), int(most[:, part].sum(axis=1).argmax())
            for side, row in enumerate(hardest):
                added = (least, most)[side][row]
                # others may take away more than an estimate has
                known = (np.maximum(one + added, LEAST_FORCE) for one in (soft, stiff, low, high))
                windows = self._metrics.thresholds(limits, *known)
                if side:
                    lower[part] = windows[0][part] - added[part]
                else:
                    upper[part] = windows[1][part] - added[part]
        return lower, upper

    def _possible(self, low: Floats, high: Floats, added: tuple[Floats, Floats]) -> Flags:
        """Which additions may make up what is missing, if a stack's forces lie above and below (rows,)."""
        before = self._sums.before
        low, high = np.where(self._silent, before, low), np.where(self._silent, before, high)
        limits = self._metrics.limits_within(self._found.error_to_beat)
        return ~surely_outside(self._metrics, limits, low + added[0], high + added[1])


def _alike(low: Floats, high: Floats, cell: Floats) -> tuple[Floats, Floats]:
    """Bounds of groups of sums that do nearly the same: far fewer, and no less sure (groups, velocities). [N]

    Parameters
    ----------
    low, high : of each sum (sums, velocities). [N]
    cell : what counts as nearly the same at each velocity (velocities,). [N]
    """
    if not len(low):
        return low, high
    numbers = np.round((low + high) / 2 / np.maximum(np.abs(cell), LEAST_FORCE))
    _, group = np.unique(numbers, axis=0, return_inverse=True)
    group = group.ravel()
    least = np.full((int(group.max()) + 1, low.shape[1]), np.inf)
    most = -least
    np.minimum.at(least, group, low)
    np.maximum.at(most, group, high)
    return least, most


def _reached(each: Floats, estimate: Floats) -> Floats:
    """At each velocity the highest threshold that an estimate passes, else the highest of all."""
    passed = np.where(each < estimate, each, -np.inf).max(axis=0)
    return np.asarray(np.where(np.isfinite(passed), passed, each.max(axis=0)))
