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
from optimiser.model.edits import contents_of
from optimiser.search.forecast import AgainstLimits
from optimiser.search.goal_metrics import GoalMetrics, Limits, Windows

Floats = NDArray[np.float64]


class Objective(Protocol):
    """Prunes families by bounds of their forces, and accepts stacks by their own."""

    def thresholds(self, soft: Floats, stiff: Floats, low: Floats, high: Floats) -> Windows:
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

    @property
    def limits(self) -> Limits:
        """The windows; once enough are found, what comes as close to the target."""
        return self.metrics.limits_within(self.error_to_beat)

    @property
    def against(self) -> AgainstLimits:
        """The same, for many stacks at a time."""
        return AgainstLimits(self.metrics, self.limits)

    def thresholds(self, soft: Floats, stiff: Floats, low: Floats, high: Floats) -> Windows:
        """What makes up the limits."""
        return self.metrics.thresholds(self.limits, soft, stiff, low, high)

    def prunes(self, low: Floats, high: Floats) -> bool:
        """Some velocity surely outside its window, or enough found that are closer."""
        return self.metrics.surely_outside(low, high, self.limits)

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
        """Keep the list in order: of the same shims, in whatever order in their packs, the closest."""
        contents = contents_of(one.stack), one.setting
        twin = next(
            (known for known in self.found if (contents_of(known.stack), known.setting) == contents), None
        )
        if twin is not None:
            if rank.closeness(twin) <= rank.closeness(one):
                return
            self.found.remove(twin)
        self.found.append(one)
        self.found.sort(key=rank.closeness)


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

    @property
    def limits(self) -> Limits:
        """Windows widened by as much as the incumbent misses them."""
        return self.metrics.limits_widened(self.best.misfit)

    def thresholds(self, soft: Floats, stiff: Floats, low: Floats, high: Floats) -> Windows:
        """What makes up the limits."""
        return self.metrics.thresholds(self.limits, soft, stiff, low, high)

    def prunes(self, low: Floats, high: Floats) -> bool:
        """Nothing nearer than the incumbent."""
        return self.metrics.surely_outside(low, high, self.limits)

    def accepts(self, forces: Floats) -> bool:
        """Nearer than the incumbent."""
        return self.metrics.misfit(forces) < self.best.misfit

    def record(self, one: Candidate) -> None:
        """The new incumbent."""
        self.best = one
