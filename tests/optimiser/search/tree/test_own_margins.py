"""Single stacks that are bounded by coarse forces of their own, with margins: each is looked at, and once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from optimiser.search.bounds.order_spread import order_spread
from optimiser.search.evaluator import Evaluator
from optimiser.search.objective import BestFeasible
from optimiser.search.space.family import root_families
from optimiser.search.space.problem_data import problem_data
from optimiser.search.tree.best_first import BestFirstTree
from optimiser.search.tree.roots import shapes
from tests.helpers import toy

Floats = NDArray[np.float64]

STEPS = 500
"""Far more than so small a tree takes."""


def left_half_as_wide(forces: Floats) -> Floats:
    """Margins so wide that hardly any stack is ruled out by them."""
    return 0.5 * np.abs(forces)


def test_a_tree_of_stacks_that_their_margins_leave_open_comes_to_an_end() -> None:
    physics, start = toy.ToyPhysics(), toy.stack((20, 0.2), (18, 0.15), (16, 0.15), (14, 0.2), (9, 0.3))
    before = physics.forces(physics.packed(start), 0)
    goal = toy.goal(physics, start, desired=1.2 * before, tolerance=np.full(before.size, 0.01))
    problem = toy.problem(physics, start, toy.random_stock(np.random.default_rng(5), 12), goal)
    evaluator = Evaluator(physics, cores=1)
    data = problem_data(problem, evaluator)
    tree = BestFirstTree(
        data=data,
        evaluator=evaluator,
        goal=goal,
        stock=problem.stock,
        setting=0,
        spread=order_spread(data, evaluator, 0),
        margins=left_half_as_wide,
    )
    half_width = tree.metrics.relative_half_width
    kinds = shapes(data, evaluator, 1, relative_half_width=half_width, setting=0)
    tree.add(family for shape in kinds for family in root_families(shape, 1))
    objective = BestFeasible(tree.metrics, 10)
    for _ in range(STEPS):
        if not tree.open:
            break
        tree.step(objective)
    assert tree.count.leaves > 0
    assert tree.open == 0
