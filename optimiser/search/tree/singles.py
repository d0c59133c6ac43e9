"""Single stacks by coarse forces of their own: estimates of what they do, bounds where margins are known."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from optimiser.search.bounds.bound_test import BoundTests
from optimiser.search.bounds.node import SOFT, STIFF, Node, Stage
from optimiser.search.evaluator import Evaluator, log_of

Floats = NDArray[np.float64]

Margins = Callable[[Floats], Floats]
"""How far exact forces may lie from coarse ones at most, from the coarse ones (velocities,). [N]"""


class Singles:
    """Asks for coarse forces of single stacks.

    Parameters
    ----------
    evaluator : asks the physics.
    tests : know how far orders of the same shims differ.
    setting : of the adjusters.
    """

    def __init__(self, evaluator: Evaluator, tests: BoundTests, *, setting: int) -> None:
        self._evaluator, self._tests, self._setting = evaluator, tests, setting

    def estimate(self, node: Node) -> Floats | None:
        """Estimate the forces of a single stack by coarse ones; None where the model has none. [N]"""
        node.stage = Stage.ESTIMATED
        plates = node.bounding_stack(STIFF, self._evaluator.physics)
        assert plates is not None  # noqa: S101
        (forces,) = self._evaluator.coarse_forces([plates], self._setting)
        if forces is not None:
            logs = log_of(forces)
            node.estimate = np.array([logs, logs])
        return forces

    def bound(self, node: Node, margins: Margins) -> None:
        """Bound the forces of a single stack, in one order or all of them, unless that was done."""
        if node.bounded:
            return
        node.bounded = True
        forces = self.estimate(node)
        if forces is not None:
            orders = (0.0, 0.0) if node.stack is not None else self._tests.slack_of_orders(node)
            away, size = margins(forces), np.abs(forces)
            low, high = forces - away - orders[SOFT] * size, forces + away + orders[STIFF] * size
            node.bounds = np.array([np.maximum(node.bounds[SOFT], low), np.minimum(node.bounds[STIFF], high)])
