"""Objectives: what a search minimises, and so which nodes it prunes and which stacks it accepts.

The same tree serves every objective: the feasible stacks closest to the target, the stack with the least
misfit, and those that the studies add. An objective sees forces and bounds of forces, never a stack.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from optimiser.model import rank
from optimiser.model.answer import Candidate
from optimiser.model.goal import Goal, Role

Floats = NDArray[np.float64]
Windows = tuple[Floats, Floats]
"""Least and most force at each velocity. [N]"""


class Objective(Protocol):
    """Prunes families by bounds of their forces, and accepts stacks by their own."""

    def thresholds(self, soft: Floats, stiff: Floats) -> Windows:
        """Least and most force at each velocity: a family that misses one of them is of no use. [N]

        A bound test is worth its cost there: whether all of the family stays below the one, or above the
        other. Infinite where no answer would help. Parameters are estimates for the softest and the stiffest
        member. [N]
        """
        ...

    def prunes(self, low: Floats, high: Floats) -> bool:
        """Whether no member of a family can be accepted, if all lie above ``low`` and below ``high``."""
        ...

    def accepts(self, forces: Floats) -> bool:
        """Whether a stack with these forces improves the objective, or belongs on its list."""
        ...

    def record(self, one: Candidate) -> None:
        """Record a stack that was accepted."""
        ...


class GoalMetrics:
    """Figures of a goal, worked out once.

    Parameters
    ----------
    goal : what is asked.

    Attributes
    ----------
    half_width : half the width of each window (velocities,). [N]
    relative_half_width : the same as a share of the desired force. [-]
    target : which velocities belong to a target (velocities,).
    """

    def __init__(self, goal: Goal) -> None:
        self.goal = goal
        self.lower, self.upper, self.desired = goal.lower, goal.upper, goal.desired
        self.half_width = rank.half_widths(goal)
        self.relative_half_width = self.half_width / np.maximum(np.abs(self.desired), rank.LEAST_FORCE)
        self.target = rank.role_mask(goal, Role.TARGET)
        self._scale = np.maximum(np.abs(self.desired[self.target]), rank.LEAST_FORCE)
        self._narrowed: tuple[float, Windows] | None = None

    def misfit(self, forces: Floats) -> float:
        """Distance of the forces from the windows at the worst velocity, in half-widths; 0 inside. [-]"""
        outside = np.maximum(self.lower - forces, forces - self.upper) / self.half_width
        return float(np.max(np.maximum(outside, 0.0), initial=0.0))

    def target_error(self, forces: Floats) -> float:
        """Distance of the forces from the target. [-]"""
        return float(np.max(np.abs(forces - self.desired)[self.target] / self._scale, initial=0.0))

    def windows_within(self, error: float) -> Windows:
        """The windows, narrowed to a distance from the target. [N]"""
        if self._narrowed is None or self._narrowed[0] != error:
            lower, upper = self.lower.copy(), self.upper.copy()
            room = error * self._scale
            lower[self.target] = np.maximum(lower[self.target], self.desired[self.target] - room)
            upper[self.target] = np.minimum(upper[self.target], self.desired[self.target] + room)
            self._narrowed = error, (lower, upper)
        return self._narrowed[1]


def surely_outside(low: Floats, high: Floats, windows: Windows) -> bool:
    """Whether forces above ``low`` and below ``high`` surely miss one of the windows."""
    lower, upper = windows
    return bool((high <= lower).any() or (low >= upper).any())


class FeasibleObjective(ABC):
    """The stacks that meet the goal, those closest to its target; which of them are kept is up to others.

    Parameters
    ----------
    metrics : figures of the goal.
    """

    def __init__(self, metrics: GoalMetrics) -> None:
        self.metrics = metrics

    @property
    @abstractmethod
    def error_to_beat(self) -> float:
        """Distance from the target that a stack has to better, or to equal. [-]"""

    def thresholds(self, soft: Floats, stiff: Floats) -> Windows:  # noqa: ARG002
        """The windows; once enough are found, what comes as close to the target."""
        return self.metrics.windows_within(self.error_to_beat)

    def prunes(self, low: Floats, high: Floats) -> bool:
        """Some velocity surely outside its window, or enough found that are closer."""
        return surely_outside(low, high, self.metrics.windows_within(self.error_to_beat))

    def accepts(self, forces: Floats) -> bool:
        """Every velocity inside its window, and close enough to the target."""
        return self.metrics.misfit(forces) == 0 and self.metrics.target_error(forces) <= self.error_to_beat


class BestFeasible(FeasibleObjective):
    """The stacks that meet the goal, the ``wanted`` closest to its target.

    Parameters
    ----------
    metrics : figures of the goal.
    wanted : how many.
    """

    def __init__(self, metrics: GoalMetrics, wanted: int) -> None:
        super().__init__(metrics)
        self.wanted = wanted
        self.found: list[Candidate] = []

    @property
    def error_to_beat(self) -> float:
        """Distance from the target that a stack has to better, or to equal. [-]"""
        if len(self.found) < self.wanted:
            return float("inf")
        return self.found[self.wanted - 1].target_error + 10.0**-rank.TIES

    def record(self, one: Candidate) -> None:
        """Keep the list in order; one stack may be reached in several ways."""
        if all((one.stack, one.setting) != (known.stack, known.setting) for known in self.found):
            self.found.append(one)
            self.found.sort(key=rank.order)


class LeastMisfit:
    """The stack with the least misfit.

    Parameters
    ----------
    metrics : figures of the goal.
    best : the incumbent.
    """

    def __init__(self, metrics: GoalMetrics, best: Candidate) -> None:
        self.metrics = metrics
        self.best = best

    def thresholds(self, soft: Floats, stiff: Floats) -> Windows:  # noqa: ARG002
        """Windows widened by as much as the incumbent misses them."""
        wide = self.best.misfit * self.metrics.half_width
        return self.metrics.lower - wide, self.metrics.upper + wide

    def prunes(self, low: Floats, high: Floats) -> bool:
        """Nothing nearer than the incumbent."""
        return surely_outside(low, high, self.thresholds(low, high))

    def accepts(self, forces: Floats) -> bool:
        """Nearer than the incumbent."""
        return self.metrics.misfit(forces) < self.best.misfit

    def record(self, one: Candidate) -> None:
        """The new incumbent."""
        self.best = one
