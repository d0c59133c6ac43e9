"""Bound tests: whether a family's softest or stiffest stack reaches a threshold at one velocity.

A test costs one pressure instead of a force curve, and its answer is a sign. When the softest stack lies
above a window, or the stiffest below it, no member meets the goal and the family is pruned. Which test comes
next follows from estimates, which only order the work: what prunes is the sign.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.model.goal import Goal
from optimiser.model.physics import BandPhysics
from optimiser.search.bounds.node import SOFT, STIFF, Node, Stage
from optimiser.search.bounds.order_spread import NO_SPREAD, OrderSpread
from optimiser.search.evaluator import Threshold, log_of
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.kernel.selection import most_promising
from optimiser.search.objective import Objective
from optimiser.search.space.family import Family

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

SETTLED_SLACK, MOVED_SLACK = (5e-3, 5e-3), (8e-3, 12e-3)
"""Shares of the force by which the lower and the upper bound are widened: where every crossover stays, and
where one is new, gone or moved. [-]

The model itself breaks its order a little where a gap has just closed (docs/model/search.md has what was
measured). What it does that a bounding stack glues the shims of a pack into one plate is added to that:
:mod:`optimiser.search.bounds.order_spread`.
"""

SINGLE_SLACK = (4.5e-3, 1.5e-3)
"""The same where all members are of the same shims, in other orders. [-]"""

RINGED_SLACK = (4e-2, 2.5e-2)
"""The same for stacks with a preload ring. [-]

A ring that bears beyond the seat bends a soft face more than a stiff one, so that a softer stack may stay
shut for longer.
"""

CLEAR: Final = {Stage.GUESSED: 0.03, Stage.ESTIMATED: -2e-3, Stage.NEAR: 2e-3}
"""A single stack is not tested at a threshold that its estimate clears by this share. [-]

Less than nothing: only where it lies so far beyond, since an exact sign is soon to follow.
"""

CORRELATED: Final = 0.4
"""Velocities whose forces go along with each other so far count as known together. [-]"""

SLOWEST: Final = 1e-3
"""Velocities below this count as it. [m/s]"""

SIGNS: Final = np.array([[1.0], [-1.0]])
"""The softest stack prunes a family above its threshold, the stiffest below. [-]"""


@dataclass(frozen=True, slots=True)
class BoundTest:
    """Whether a bounding stack of a family lies beyond a threshold, at one velocity or at some of a band.

    Parameters
    ----------
    side : which bounding stack.
    threshold : the velocities and the forces.
    bounds : of every member's forces there, should the stack lie beyond. [N]
    """

    side: int
    threshold: Threshold
    bounds: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _ThresholdTable:
    """Thresholds of the softest stack and of the stiffest one (2, velocities).

    Parameters
    ----------
    lower, upper : forces that a family has to stay below or above to be pruned. [N]
    bounds : ``upper`` for the softest stack, ``lower`` for the stiffest. [N]
    tested : those at which the stacks are tested, so that the slack of bounds is allowed for. [N]
    logs : their logarithms, less than zero for the softest stack. [-]
    signed_bounds, signed_tested : both less than zero for the stiffest stack. [N]
    useless : where no answer would help.
    """

    lower: Floats
    upper: Floats
    bounds: Floats
    tested: Floats
    logs: Floats
    signed_bounds: Floats
    signed_tested: Floats
    useless: Flags

    @classmethod
    def of(cls, lower: Floats, upper: Floats, below: float, above: float) -> _ThresholdTable:
        """Thresholds with slack, as a share of the force below the softest stack and above the stiffest."""
        bounds = np.array([upper, lower])
        tested = bounds / np.array([[1 - below], [1 + above]])
        useless = ~((tested > 0) & np.isfinite(tested))
        logs = -SIGNS * np.log(np.where(useless, 1.0, tested))
        return cls(lower, upper, bounds, tested, logs, SIGNS * bounds, SIGNS * tested, useless)


class BoundTests:
    """Chooses bound tests for the families of one goal, and applies their outcomes.

    Parameters
    ----------
    goal, metrics : what is asked, and figures of it.
    physics : what answers.
    spread : how far the order inside packs moves the force beside the bounding stacks' glued ones.
    """

    def __init__(
        self, goal: Goal, metrics: GoalMetrics, physics: BandPhysics, spread: OrderSpread = NO_SPREAD
    ) -> None:
        self.metrics, self.physics, self.spread = metrics, physics, spread
        self.none_tried = np.zeros((2, goal.velocities.size), np.bool_)
        self._present = log_of(goal.before)
        self._correlation = _correlation(goal)
        self._correlated = self._correlation > CORRELATED
        self._tables: dict[tuple[float, float], _ThresholdTable] = {}

    def next(
        self, node: Node, objective: Objective, tried: Flags, *, only_likely: bool = False
    ) -> BoundTest | None:
        """The test that is likeliest to prune a node; None when none comes near.

        Parameters
        ----------
        node, objective : what is to be pruned, and by what.
        tried : tests that are left out (2, velocities).
        only_likely : only a test that should succeed by the estimates as they are.
        """
        if node.forces is not None:
            return None
        node.bounding_stack(SOFT, self.physics)
        while True:
            test = self._most_promising(node, objective, tried, only_likely)
            if test is None or test.side in node.bounding:
                return test
            # how far this bounding stack has moved tells whether another test is likelier
            node.bounding_stack(test.side, self.physics)

    def _most_promising(
        self, node: Node, objective: Objective, tried: Flags, only_likely: bool
    ) -> BoundTest | None:
        table = self._table(node, objective)
        clear = CLEAR[node.stage] if node.is_single else 0.0
        side, place = most_promising(
            node.estimate,
            node.bounds,
            node.failed,
            node.uncertainty,
            tried | table.useless,
            table.logs,
            table.signed_bounds,
            table.signed_tested,
            self.metrics.relative_half_width,
            clear,
            only_likely,
            node.bounding[SOFT] is None,
        )
        if side < 0:
            return None
        places = self._together(node, table, tried, side, place)
        exactly = node.stage is Stage.NEAR
        threshold = Threshold(tuple(places), tuple(table.tested[side, places].tolist()), exactly=exactly)
        return BoundTest(side, threshold, tuple(table.bounds[side, places].tolist()))

    def _together(self, node: Node, table: _ThresholdTable, tried: Flags, side: int, place: int) -> list[int]:
        """The velocities that are tested with one: the rest of a band of which an average is asked.

        They prune together only, and a stack is lifted for all of them in one go. Of a family one is asked
        first, since most tests of families fail.
        """
        part = next((part for part in self.metrics.averaged if part.start <= place < part.stop), None)
        if part is None:
            return [place]
        sign = SIGNS[side, 0]
        beyond = sign * node.bounds[side, part] >= table.signed_bounds[side, part]
        if not (node.is_single or beyond.any()):
            return [place]
        open_ones = ~(beyond | tried[side, part] | table.useless[side, part])
        return [part.start + int(number) for number in np.flatnonzero(open_ones)]

    def _table(self, node: Node, objective: Objective) -> _ThresholdTable:
        """What an objective asks of a family, side by side."""
        lower, upper = objective.thresholds(*np.exp(node.estimate), *node.bounds)
        slack = self._slack(node)
        known = self._tables.get(slack)
        if known is None or known.lower is not lower or known.upper is not upper:
            known = self._tables[slack] = _ThresholdTable.of(lower, upper, *slack)
        return known

    def _slack(self, node: Node) -> tuple[float, float]:
        """Shares of the force by which a member may lie below the softest stack and above the stiffest."""
        near = node.stage is Stage.NEAR
        tolerance = self.physics.exact_tolerance if near else self.physics.excess_tolerance
        tolerance *= self.spread.widening
        if node.stack is not None:
            return tolerance, tolerance
        if node.slack is None:
            below, above = slack_of(node.family)
            lower, upper = self.spread.of(node.family)
            wider = self.spread.widening
            node.slack = wider * (below + lower), wider * (above + upper)
        below, above = node.slack
        return below + tolerance, above + tolerance

    def slack_of_orders(self, node: Node) -> tuple[float, float]:
        """Shares of the force by which any order of shims may lie below and above their glued packs. [-]"""
        lower, upper = self.spread.of(node.family)
        wider = self.spread.widening
        return wider * (SINGLE_SLACK[SOFT] + lower), wider * (SINGLE_SLACK[STIFF] + upper)

    def widest_slack(self, *, ringed: bool) -> tuple[float, float]:
        """Most that any bound of the problem is widened by, as shares of the force below and above. [-]"""
        kinds = [SETTLED_SLACK, MOVED_SLACK, *([RINGED_SLACK] if ringed else [])]
        worst, tolerance = self.spread.worst, self.physics.excess_tolerance
        below, above = (
            self.spread.widening * (max(kind[side] for kind in kinds) + worst[side] + tolerance)
            for side in (SOFT, STIFF)
        )
        return below, above

    def apply(self, node: Node, test: BoundTest, outcome: Floats | None) -> bool:
        """Note on which side of its threshold a bounding stack lies; whether that bounds the family.

        Parameters
        ----------
        node, test : what was tested.
        outcome : logarithms of the forces over the threshold; None when the model has no answer.
        """
        places = test.threshold.places
        # a stack without an equilibrium bounds nothing, and is not tested so again
        excesses = [-SIGNS[test.side, 0] * np.inf] * len(places) if outcome is None else outcome.tolist()
        node.estimate, node.uncertainty = node.estimate.copy(), node.uncertainty.copy()
        node.bounds = node.bounds.copy()
        each = zip(places, test.threshold.forces, test.bounds, excesses, strict=True)
        passed = [self._apply_one(node, test.side, *one) for one in each]
        return all(passed)

    def _apply_one(
        self, node: Node, side: int, place: int, force: float, bound: float, excess: float
    ) -> bool:
        """Note it at one velocity."""
        known = np.log(force) + excess
        for row in (side,) if not node.is_single else (SOFT, STIFF):
            node.uncertainty[row, self._correlated[place]] = 0.0
            self._move(node.estimate[row], place, known)
        sign = SIGNS[side, 0]
        if sign * excess > 0:
            node.bounds[side, place] = bound
            return True
        node.failed = node.failed.copy()
        node.failed[side, place] = min(node.failed[side, place], sign * force)
        return False

    def _move(self, logs: Floats, place: int, known: float) -> None:
        """Move an estimate once it is known at one velocity: at others it goes along."""
        if math.isfinite(known):
            start = logs if np.count_nonzero(np.isfinite(logs)) == logs.size else self._present
            logs[:] = start + self._correlation[place] * (known - start[place])
        logs[place] = known


def slack_of(family: Family) -> tuple[float, float]:
    """Shares of the force by which bounds are widened, but for the order inside packs. [-]"""
    if family.shape.rings:
        return RINGED_SLACK
    if family.most_members == 1:
        return SINGLE_SLACK
    return SETTLED_SLACK if family.shape.settled else MOVED_SLACK


def _correlation(goal: Goal) -> Floats:
    """How far the force at one velocity goes along with that at another. [-]"""
    speeds = np.log(np.maximum(np.abs(goal.velocities), SLOWEST))
    stroke = np.sign(goal.velocities)
    near = np.exp(-np.abs(speeds[:, None] - speeds[None, :]))
    return np.where(stroke[:, None] == stroke[None, :], near, 0.0)
