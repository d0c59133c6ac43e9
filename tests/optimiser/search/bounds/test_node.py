"""What is thought of a family's parts: it only orders the work, yet it has to point the right way."""

from __future__ import annotations

import numpy as np
import pytest

from damping_model.stack.stack import Stack
from optimiser.search.bounds.node import SOFT, STIFF, Node, weight
from optimiser.search.evaluator import Runs
from optimiser.search.space.family import Family, beginnings
from optimiser.search.space.problem_data import workshop
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
    runs = Runs(PHYSICS, cores=1)
    shop = workshop(toy.problem(PHYSICS, start, toy.random_stock(rng, 6), toy.no_goal(start)), runs)
    known = shapes(shop, runs, 2, half=np.full(VELOCITIES, 0.02), setting=0)
    return [family for shape in known for family in beginnings(shape, 2) if family.is_a_stack]


def told(family: Family) -> Node:
    """A family that was asked everything: nothing of what is thought can have drifted."""
    node = Node.of_unknown(family, VELOCITIES)
    for end in (SOFT, STIFF):
        plates = node.plates(end, PHYSICS)
        if plates is not None:
            node.thought = node.thought.copy()
            node.thought[end] = np.log(PHYSICS.forces(plates, 0))
    node.drift = np.zeros(node.thought.shape)
    node.stood = np.full(node.thought.shape, 7.0)
    return node


def parts() -> list[tuple[Node, Node]]:
    whole = [told(family) for family in families()]
    whole = [node for node in whole if np.isfinite(node.thought).all()]
    return [
        (node, node.part(part))
        for node in whole
        if node.family.most_members > 1
        for part in node.family.split()
    ]


def test_an_end_that_a_part_shares_with_the_whole_has_not_drifted_and_has_been_asked() -> None:
    shared = 0
    for node, part in parts():
        for end in (SOFT, STIFF):
            if part.plates(end, PHYSICS) is not None and part.corners[end] == node.corners[end]:
                shared += 1
                assert part.corners[end] is node.corners[end]
                assert np.array_equal(part.drift[end], node.drift[end])
                assert np.array_equal(part.stood[end], node.stood[end])
            elif part.corners[end] is not None:
                assert (part.drift[end] > 0).all()
                assert np.isinf(part.stood[end]).all()
    assert shared > 10


def test_ends_that_move_far_are_thought_to_have_drifted_far() -> None:
    """Rank correlation of the true move with the drift; zero would be a coin."""
    drifts, moves = [], []
    for node, part in parts():
        for end in (SOFT, STIFF):
            plates = part.plates(end, PHYSICS)
            if plates is not None:
                moved = np.abs(np.log(PHYSICS.forces(plates, 0)) - node.thought[end])
                drifts += list(part.drift[end])
                moves += list(moved)
    ranks = [np.argsort(np.argsort(one)) for one in (drifts, moves)]
    assert len(drifts) > 200
    assert np.corrcoef(ranks)[0, 1] > 0.5


def test_nothing_is_thought_of_an_unknown_family_and_all_of_its_parts_is_possible() -> None:
    node = Node.of_unknown(families()[0], VELOCITIES)
    assert np.array_equal(node.bounds, [[-np.inf] * VELOCITIES, [np.inf] * VELOCITIES])
    part = node.part(node.family)
    part.plates(STIFF, PHYSICS)
    assert np.isposinf(part.drift).all()


@pytest.mark.parametrize("end", [SOFT, STIFF])
def test_a_single_stack_is_both_of_its_ends(end: int) -> None:
    family = families()[0]
    made = toy.stack((20, 0.2), (9, 0.3))
    one = Node.of_unknown(family, VELOCITIES).member(family, made)
    assert one.plates(end, PHYSICS) == PHYSICS.packed(made)
