"""One question that every method answers, and the judge of what they say."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

from damping_model.stack.stack import Stack
from optimiser.model import certificate as check
from optimiser.model.answer import Answer, Candidate, Effort, Status
from optimiser.model.goal import Goal
from optimiser.model.physics import BandPhysics
from optimiser.model.problem import Problem
from optimiser.model.rules import Mounting, Rule, rules_for
from optimiser.model.stock import Stock

TIES = 9
"""Decimals to which errors on target are compared: below lies what the physics' own iterations leave. [-]"""

Key = tuple[int, float]
"""Number of changes and error on target: less is better."""


@dataclass(frozen=True)
class Question:
    """A stack, a shelf and a goal.

    Parameters
    ----------
    name : what the table calls it.
    make_physics : a fresh physics, so that no method finds anything warm that another has asked.
    stack, mounting, stock, goal, most_changes : as the search takes them.
    """

    name: str
    make_physics: Callable[[], BandPhysics] = field(repr=False)
    stack: Stack = field(repr=False)
    mounting: Mounting = field(repr=False)
    stock: Stock = field(repr=False)
    goal: Goal = field(repr=False)
    most_changes: int

    @cached_property
    def rules(self) -> tuple[Rule, ...]:
        """What a stack has to keep."""
        return rules_for(self.stack, self.mounting)

    @cached_property
    def reference_physics(self) -> BandPhysics:
        """A physics that no method asks."""
        return self.make_physics()

    def problem(self, physics: BandPhysics) -> Problem:
        """As the search takes it."""
        return Problem(
            physics=physics,
            stack=self.stack,
            mounting=self.mounting,
            stock=self.stock,
            goal=self.goal,
            rules=self.rules,
        )

    def faults(self, answer: Answer) -> tuple[str, ...]:
        """Everything in an answer that does not hold, by rules, shelf, height, steps and fresh forces."""
        wrong = check.faults(answer, self.problem(self.reference_physics))
        many = [one for one in answer.candidates if len(one.changes) > self.most_changes]
        return (*wrong, *(f"{len(one.changes)} changes, allowed are {self.most_changes}" for one in many))

    def faults_of(self, one: Candidate) -> tuple[str, ...]:
        """The same for a single stack, of which nothing is claimed but that it meets the goal."""
        return self.faults(
            Answer(Status.BEST_SO_FAR, (one,), -1, self.most_changes, None, False, Effort(0, 0, 0))
        )


def key_of(one: Candidate) -> Key:
    """What candidates are compared by."""
    return len(one.changes), round(one.target_error, TIES)
