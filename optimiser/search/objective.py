"""What a search is after: the stacks that meet a goal, or the one that comes nearest to it."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from optimiser.model import rank
from optimiser.model.answer import Candidate
from optimiser.model.goal import Goal, Role

Floats = NDArray[np.float64]


class Objective(Protocol):
    """Judges families by the forces that bound them, and stacks by their own."""

    def levels(self, soft: Floats, stiff: Floats) -> tuple[Floats, Floats]:
        """Least and most force at each velocity, one of which a family has to miss to be of no use. [N]

        A family is worth asking there: whether all of it stays below the one, or above the other. Infinite
        where no answer would help. Parameters are what the softest and the stiffest member are thought to
        give. [N]
        """
        ...

    def hopeless(self, low: Floats, high: Floats) -> bool:
        """Whether no member of a family is wanted any more, if all lie above ``low`` and below ``high``."""
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
        self.lower, self.upper, self.desired = goal.lower, goal.upper, goal.desired
        self.half = rank.half_widths(goal)
        self.share = self.half / np.maximum(np.abs(self.desired), rank.LEAST_FORCE)
        self.target = rank.role_mask(goal, Role.TARGET)
        self._narrowed: tuple[float, tuple[Floats, Floats]] | None = None
        self.scale = np.maximum(np.abs(self.desired[self.target]), rank.LEAST_FORCE)

    def misfit(self, forces: Floats) -> float:
        """Distance of the forces from the windows at the worst velocity, in half-widths; 0 inside. [-]"""
        outside = np.maximum(self.lower - forces, forces - self.upper) / self.half
        return float(np.max(np.maximum(outside, 0.0), initial=0.0))

    def error(self, forces: Floats) -> float:
        """Distance of the forces from the target. [-]"""
        return float(np.max(np.abs(forces - self.desired)[self.target] / self.scale, initial=0.0))

    def closer_than(self, error: float) -> tuple[Floats, Floats]:
        """Windows narrowed to a distance from the target. [N]"""
        if self._narrowed is None or self._narrowed[0] != error:
            lower, upper = self.lower.copy(), self.upper.copy()
            room = error * self.scale
            lower[self.target] = np.maximum(lower[self.target], self.desired[self.target] - room)
            upper[self.target] = np.minimum(upper[self.target], self.desired[self.target] + room)
            self._narrowed = error, (lower, upper)
        return self._narrowed[1]


def missed(low: Floats, high: Floats, levels: tuple[Floats, Floats]) -> bool:
    """Whether forces above ``low`` and below ``high`` surely miss one of the windows."""
    lower, upper = levels
    return bool((high <= lower).any() or (low >= upper).any())


class Closest(ABC):
    """The stacks that meet the goal, those closest to its target; what is kept of them is up to others.

    Parameters
    ----------
    judge : figures of the goal.
    """

    def __init__(self, judge: Judge) -> None:
        self.judge = judge

    @property
    @abstractmethod
    def worst(self) -> float:
        """Distance from the target that a stack has to better, or to equal. [-]"""

    def levels(self, soft: Floats, stiff: Floats) -> tuple[Floats, Floats]:  # noqa: ARG002
        """The windows; once enough are found, what comes as close to the target."""
        return self.judge.closer_than(self.worst)

    def hopeless(self, low: Floats, high: Floats) -> bool:
        """Some velocity surely outside its window, or enough found that are closer."""
        return missed(low, high, self.judge.closer_than(self.worst))

    def wants(self, forces: Floats) -> bool:
        """Every velocity inside its window, and close enough to the target."""
        return self.judge.misfit(forces) == 0 and self.judge.error(forces) <= self.worst


class Meet(Closest):
    """The stacks that meet the goal, the ``wanted`` closest to its target.

    Parameters
    ----------
    judge : figures of the goal.
    wanted : how many.
    """

    def __init__(self, judge: Judge, wanted: int) -> None:
        super().__init__(judge)
        self.wanted = wanted
        self.found: list[Candidate] = []

    @property
    def worst(self) -> float:
        """Distance from the target that a stack has to better, or to equal. [-]"""
        if len(self.found) < self.wanted:
            return float("inf")
        return self.found[self.wanted - 1].target_error + 10.0**-rank.TIES

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

    def levels(self, soft: Floats, stiff: Floats) -> tuple[Floats, Floats]:  # noqa: ARG002
        """Windows as wide as what is known misses them by."""
        wide = self.best.misfit * self.judge.half
        return self.judge.lower - wide, self.judge.upper + wide

    def hopeless(self, low: Floats, high: Floats) -> bool:
        """Nothing nearer than what is known."""
        return missed(low, high, self.levels(low, high))

    def wants(self, forces: Floats) -> bool:
        """Nearer than what is known."""
        return self.judge.misfit(forces) < self.best.misfit

    def take(self, one: Candidate) -> None:
        """The new nearest."""
        self.best = one
