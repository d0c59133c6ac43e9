"""What a search is after: the stacks that meet a goal, or the one that comes nearest to it."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from optimiser import rank
from optimiser.goal import Goal, Role
from optimiser.plan import Candidate

Floats = NDArray[np.float64]


class Aim(Protocol):
    """Judges families by the forces that bound them, and stacks by their own."""

    def hopeless(self, low: Floats, high: Floats) -> bool:
        """Whether no member of a family with these bounds is wanted any more."""
        ...

    def wants(self, forces: Floats) -> bool:
        """Whether a stack with these forces is wanted."""
        ...

    def take(self, one: Candidate) -> None:
        """Take a stack that is wanted."""
        ...


class Judge:
    """Figures of a goal, worked out once.

    Parameters
    ----------
    goal : what is asked.
    """

    def __init__(self, goal: Goal) -> None:
        self.goal = goal
        self.lower, self.upper, self.aim = goal.lower, goal.upper, goal.aim
        self.half = rank.half_widths(goal)
        self.share = self.half / np.maximum(np.abs(self.aim), rank.LEAST_FORCE)
        self.target = rank.role_mask(goal, Role.TARGET)
        self.scale = np.maximum(np.abs(self.aim[self.target]), rank.LEAST_FORCE)

    def least_misfit(self, low: Floats, high: Floats) -> float:
        """No forces between these bounds have less misfit. [-]"""
        outside = np.maximum(self.lower - high, low - self.upper) / self.half
        return float(np.max(np.maximum(outside, 0.0), initial=0.0))

    def least_error(self, low: Floats, high: Floats) -> float:
        """No forces between these bounds come closer to the target. [-]"""
        off = np.maximum(self.aim - high, low - self.aim)[self.target] / self.scale
        return float(np.max(np.maximum(off, 0.0), initial=0.0))

    def misfit(self, forces: Floats) -> float:
        """Misfit of forces. [-]"""
        return self.least_misfit(forces, forces)

    def error(self, forces: Floats) -> float:
        """Distance of forces from the target. [-]"""
        return self.least_error(forces, forces)


class Meet:
    """The stacks that meet the goal, the ``wanted`` closest to its target.

    Parameters
    ----------
    judge : figures of the goal.
    wanted : how many.
    """

    def __init__(self, judge: Judge, wanted: int) -> None:
        self.judge = judge
        self.wanted = wanted
        self.found: list[Candidate] = []

    @property
    def worst(self) -> float:
        """Distance from the target that a stack has to better, or to equal. [-]"""
        if len(self.found) < self.wanted:
            return float("inf")
        return self.found[self.wanted - 1].target_error + 10.0**-rank.TIES

    def hopeless(self, low: Floats, high: Floats) -> bool:
        """Some velocity surely outside its window, or enough found that are closer."""
        return self.judge.least_misfit(low, high) > 0 or self.judge.least_error(low, high) > self.worst

    def wants(self, forces: Floats) -> bool:
        """Every velocity inside its window, and close enough to the target."""
        return self.judge.misfit(forces) == 0 and self.judge.error(forces) <= self.worst

    def take(self, one: Candidate) -> None:
        """Keep the list in order; one stack may be reached in several ways."""
        if all((one.stack, one.setting) != (known.stack, known.setting) for known in self.found):
            self.found.append(one)
            self.found.sort(key=rank.order)


class Near:
    """The stack with the least misfit.

    Parameters
    ----------
    judge : figures of the goal.
    best : the nearest known so far.
    """

    def __init__(self, judge: Judge, best: Candidate) -> None:
        self.judge = judge
        self.best = best

    def hopeless(self, low: Floats, high: Floats) -> bool:
        """Nothing nearer than what is known."""
        return self.judge.least_misfit(low, high) >= self.best.misfit

    def wants(self, forces: Floats) -> bool:
        """Nearer than what is known."""
        return self.judge.misfit(forces) < self.best.misfit

    def take(self, one: Candidate) -> None:
        """The new nearest."""
        self.best = one
