"""One problem as a value: the damper, the stack that may change, the shelf, the goal and the rules."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.answer import Candidate
from optimiser.model.goal import Goal
from optimiser.model.physics import BandPhysics
from optimiser.model.rules import Mounting, Rule, rules_for
from optimiser.model.stock import Stock


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """Everything that decides which stacks are feasible, and which of those is better.

    Parameters
    ----------
    physics : the damping model at the goal's velocities, with one stack open to change.
    stack : what is in the damper; its shims may be used again elsewhere in it.
    mounting : the place that it is bolted to.
    stock : what is on the shelf.
    goal : windows for the force, and a range for the height.
    rules : what a stack has to keep; those of ``stack`` when left out.
    """

    physics: BandPhysics
    stack: Stack
    mounting: Mounting
    stock: Stock
    goal: Goal
    rules: tuple[Rule, ...] | None = None

    def candidate(self, stack: Stack, *, setting: int, forces: NDArray[np.float64]) -> Candidate:
        """A stack with every figure that it is judged by.

        Parameters
        ----------
        stack, setting : which.
        forces : resisting, at each velocity of the goal. [N]
        """
        return rank.candidate(
            old=self.stack, new=stack, setting=setting, forces=forces, goal=self.goal, stock=self.stock
        )

    @property
    def required_rules(self) -> tuple[Rule, ...]:
        """The rules, those of the stack in the damper when none are given."""
        return rules_for(self.stack, self.mounting) if self.rules is None else self.rules
