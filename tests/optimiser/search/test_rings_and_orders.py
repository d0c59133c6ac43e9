"""Preload rings and the order inside packs: what a proof may not overlook."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pytest

from damping_model.errors import GeometryError
from damping_model.stack.packs import PackedStack, PreloadRing
from damping_model.stack.stack import Stack
from optimiser.model import certificate
from optimiser.model.answer import NO_EFFORT, Answer, Status
from optimiser.model.edits import keys_of
from optimiser.model.stock import ShimKey, Stock
from optimiser.search import solve
from optimiser.search.evaluator import Evaluator
from tests.helpers import toy
from tests.helpers.real_goals import ONE_CHANGE, InReach, Reached, in_reach, planted_goal


def only(reach: InReach, wanted: Callable[[tuple[ShimKey, ...]], bool]) -> Reached:
    """The one stack in reach that is wanted."""
    (found,) = (one for one in reach.stacks if wanted(keys_of(one.stack)))
    return found


def test_a_loose_twin_of_the_pack_that_centres_a_ring_may_leave() -> None:
    """What has to stay is known by its place: it lies before the twin, and the two are shims of one type."""
    reach = in_reach(ONE_CHANGE["ring"], 1)
    old = keys_of(reach.problem.stack)
    assert old[3] == old[7]
    without = only(reach, lambda keys: keys == (*old[:7], *old[8:]))
    problem = replace(reach.problem, goal=planted_goal(reach, without.forces))
    answer = solve(problem, most_changes=1)
    assert certificate.faults(answer, problem) == ()
    assert answer.status is Status.PROVEN_LEAST
    assert answer.candidates[0].stack == without.stack


def test_a_ring_adds_nothing_to_the_height_that_a_stack_may_have() -> None:
    """It lies around the pack that centres it: a swap of shims as thick keeps to a limit of today's height."""
    reach = in_reach(ONE_CHANGE["ring"], 1)
    height = reach.problem.stack.height
    swap = next(one for one in reach.stacks if one.changes == 1 and one.stack.height == pytest.approx(height))
    problem = replace(reach.problem, goal=replace(planted_goal(reach, swap.forces), most_height=height))
    answer = solve(problem, most_changes=1)
    assert answer.status is Status.PROVEN_LEAST
    assert answer.candidates[0].stack == swap.stack


def test_a_thin_shim_on_the_piston_side_of_its_pack_is_found_where_no_other_place_of_it_will_do() -> None:
    reach = in_reach(ONE_CHANGE["taper"], 1)
    old, thin = keys_of(reach.problem.stack), toy.key(20, 0.10)
    before = only(reach, lambda keys: keys == (thin, *old))
    problem = replace(reach.problem, goal=planted_goal(reach, before.forces))
    answer = solve(problem, most_changes=1)
    assert certificate.faults(answer, problem) == ()
    assert answer.status is Status.PROVEN_LEAST
    assert answer.candidates[0].stack == before.stack


def test_steps_that_put_a_shim_elsewhere_in_its_pack_are_a_fault() -> None:
    """The stack that is built by hand has to be the one that was computed."""
    reach = in_reach(ONE_CHANGE["taper"], 1)
    old, thin = keys_of(reach.problem.stack), toy.key(20, 0.10)
    before = only(reach, lambda keys: keys == (thin, *old))
    problem = replace(reach.problem, goal=planted_goal(reach, before.forces))
    found = problem.candidate(before.stack, setting=problem.physics.setting, forces=before.forces)
    answer = Answer(Status.BEST_SO_FAR, (found,), 0, 1, None, False, NO_EFFORT)
    assert certificate.faults(answer, problem) == ()
    (change,) = found.changes
    wrong = replace(found, changes=(replace(change, in_after=2),))
    assert any(
        "steps do not lead" in words
        for words in certificate.faults(replace(answer, candidates=(wrong,)), problem)
    )


@dataclass(slots=True)
class RingCounter(toy.ToyPhysics):
    """Gives a force for each ring."""

    def forces(self, plates: PackedStack, setting: int) -> toy.Floats:  # noqa: ARG002
        return np.full(len(toy.VELOCITIES), 1.0 + len(plates.rings))


def test_stacks_that_differ_by_a_ring_alone_share_no_answer() -> None:
    physics = RingCounter()
    plates = physics.packed(toy.stack((20, 0.2), (14, 0.2), (20, 0.2), (9, 0.3)))
    ringed = replace(plates, rings=(PreloadRing(1, 7.5e-3, 10e-3, 0.25e-3),))
    evaluator = Evaluator(physics, cores=1)
    forces = [evaluator.exact_forces(one, 0) for one in (plates, ringed)]
    assert [one is not None and one[0] for one in forces] == [1.0, 2.0]


@dataclass(slots=True)
class Unpackable(toy.ToyPhysics):
    """Cannot make plates of a stack with a shim of 17 mm."""

    def packed(self, stack: Stack) -> PackedStack:
        if len(stack.shims) > 2 and any(key.outer == 17_000 for key in keys_of(stack)):
            raise GeometryError("no plates of it")
        return toy.ToyPhysics.packed(self, stack)


@pytest.mark.parametrize("changes", [1, 2])
def test_a_stack_that_no_plates_can_be_made_of_ends_no_search_and_lets_nothing_be_called_proven(
    changes: int,
) -> None:
    physics = Unpackable()
    start = toy.stack((20, 0.2), (18, 0.2), (14, 0.1), (9, 0.3))
    before = physics.forces(physics.packed(start), 0)
    stock = Stock({toy.key(17, 0.1): 2, toy.key(16, 0.1): 1})
    goal = toy.goal(physics, start, desired=before * 1.004, tolerance=np.full(6, 0.003))
    answer = solve(toy.problem(physics, start, stock, goal), most_changes=changes)
    assert answer.status is not Status.PROVEN_IMPOSSIBLE
    assert answer.proven_too_few <= 0
