"""Estimates for a family's parts: they only order the work, yet they have to point the right way."""

from __future__ import annotations

import numpy as np
import pytest

from damping_model.stack.stack import Stack
from optimiser.search.bounds.node import SOFT, STIFF, Node, weight
from optimiser.search.evaluator import Evaluator
from optimiser.search.space.family import Family, root_families
from optimiser.search.space.problem_data import problem_data
from optimiser.search.tree.roots import shapes
from tests.helpers import toy

PHYSICS = toy.ToyPhysics()
VELOCITIES = len(toy.VELOCITIES)


def weight_of(*sizes: tuple[float, float]) -> float:
    return weight(PHYSICS.packed(toy.stack(*sizes)))


def test_a_thicker_and_a_wider_shim_weigh_more() -> None:
    thin = weight_of((20, 0.15), (16, 0.15), (9, 0.3))
    assert weight_of((20, 0.15), (16, 0.20), (9, 0.3)) > thin
    assert weight_of((20, 0.15), (17, 0.15), (9, 0.3)) > thin


def test_what_is_held_off_weighs_less_the_further_it_is() -> None:
    close, far = (weight_of((20, 0.15), (12, gap), (19, 0.2), (9, 0.3)) for gap in (0.05, 0.1))
    assert weight_of((20, 0.15), (19, 0.2), (12, 0.05), (9, 0.3)) > close
    assert close > far + np.log(0.8)
    assert weight_of((20, 0.15), (9, 0.3)) < far


def families() -> list[Family]:
    rng = np.random.default_rng(5)
    start: Stack = toy.random_stack(rng, 12)
    evaluator = Evaluator(PHYSICS, cores=1)
    data = problem_data(toy.problem(PHYSICS, start, toy.random_stock(rng, 6), toy.no_goal(start)), evaluator)
    known = shapes(data, evaluator, 2, relative_half_width=np.full(VELOCITIES, 0.02), setting=0)
    return [family for shape in known for family in root_families(shape, 2) if family.is_a_stack]


def fully_tested(family: Family) -> Node:
    """A family that every bound test was made of: its estimates are certain."""
    node = Node.unknown(family, VELOCITIES)
    for side in (SOFT, STIFF):
        plates = node.bounding_stack(side, PHYSICS)
        if plates is not None:
            node.estimate = node.estimate.copy()
            node.estimate[side] = np.log(PHYSICS.forces(plates, 0))
    node.uncertainty = np.zeros(node.estimate.shape)
    node.failed = np.full(node.estimate.shape, 7.0)
    return node


def parts() -> list[tuple[Node, Node]]:
    whole = [fully_tested(family) for family in families()]
    whole = [node for node in whole if np.isfinite(node.estimate).all()]
    return [
        (node, node.child(part))
        for node in whole
        if node.family.most_members > 1
        for part in node.family.split()
    ]


def test_a_bounding_stack_that_a_part_shares_with_the_whole_is_as_certain_and_has_been_tested() -> None:
    shared = 0
    for node, part in parts():
        for side in (SOFT, STIFF):
            if part.bounding_stack(side, PHYSICS) is not None and part.bounding[side] == node.bounding[side]:
                shared += 1
                assert part.bounding[side] is node.bounding[side]
                assert np.array_equal(part.uncertainty[side], node.uncertainty[side])
                assert np.array_equal(part.failed[side], node.failed[side])
            elif part.bounding[side] is not None:
                assert (part.uncertainty[side] > 0).all()
                assert np.isinf(part.failed[side]).all()
    assert shared > 10


def test_the_further_a_bounding_stack_moves_the_less_certain_its_estimate_is() -> None:
    """Rank correlation of the true move with the uncertainty; zero would be a coin."""
    uncertainties, moves = [], []
    for node, part in parts():
        for side in (SOFT, STIFF):
            plates = part.bounding_stack(side, PHYSICS)
            if plates is not None:
                moved = np.abs(np.log(PHYSICS.forces(plates, 0)) - node.estimate[side])
                uncertainties += list(part.uncertainty[side])
                moves += list(moved)
    rank, other = (np.argsort(np.argsort(one)).astype(float) for one in (uncertainties, moves))
    assert len(uncertainties) > 200
    assert np.corrcoef(rank, other)[0, 1] > 0.5


def test_nothing_is_estimated_of_an_unknown_family_and_all_of_its_parts_is_possible() -> None:
    node = Node.unknown(families()[0], VELOCITIES)
    assert np.array_equal(node.bounds, [[-np.inf] * VELOCITIES, [np.inf] * VELOCITIES])
    part = node.child(node.family)
    part.bounding_stack(STIFF, PHYSICS)
    assert np.isposinf(part.uncertainty).all()


@pytest.mark.parametrize("side", [SOFT, STIFF])
def test_a_single_stack_is_both_of_its_bounding_stacks(side: int) -> None:
    family = families()[0]
    made = toy.stack((20, 0.2), (9, 0.3))
    one = Node.unknown(family, VELOCITIES).leaf(family, made)
    assert one.bounding_stack(side, PHYSICS) == PHYSICS.packed(made)
