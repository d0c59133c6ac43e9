"""Nothing that meets a goal is screened out: single answers are planted at windows' edges, and looked for."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.answer import Answer, Status
from optimiser.model.edits import stack_of
from optimiser.model.goal import Goal, Role, Window
from optimiser.model.problem import Problem
from optimiser.search import Control, solve
from optimiser.search.bounds.order_spread import order_spread
from optimiser.search.evaluator import Evaluator
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.objective import BestFeasible
from optimiser.search.screen import (
    additive_model,
    by_sums,
    member_sample,
    member_screen,
    screen,
    surrogate_force,
)
from optimiser.search.screen.screen import Screen
from optimiser.search.space.family import root_families
from optimiser.search.space.problem_data import problem_data
from optimiser.search.space.shape import Shape
from optimiser.search.tree.best_first import BestFirstTree
from optimiser.search.tree.roots import shapes
from tests.helpers import toy
from tests.helpers.counts import thorough_only, tries
from tests.helpers.real_goals import TWO_CHANGES, in_reach
from tests.helpers.screened import (
    by_sums_at_once,
    go_by_sums,
    screen_at_once,
)
from tests.optimiser.search.test_against_brute_force import KINDS, agrees

Floats = NDArray[np.float64]
RNG = np.random.default_rng(8)


@dataclass(frozen=True)
class Shelf:
    """A toy stack, what may be done to it, and everything that a screen needs."""

    problem: Problem
    kinds: tuple[Shape, ...]

    def tree(self, goal: Goal) -> BestFirstTree:
        evaluator = Evaluator(self.problem.physics, cores=1)
        data = problem_data(self.problem, evaluator)
        return BestFirstTree(
            data=data,
            evaluator=evaluator,
            goal=goal,
            stock=self.problem.stock,
            setting=0,
            spread=order_spread(data, evaluator, 0),
        )

    def drawn(self, shape: Shape, rng: np.random.Generator) -> Stack:
        """Any stack of a shape that can be built, two changes away, in any order."""
        members = self.tree(self.problem.goal).members
        assert shape.leaving is not None
        assert shape.coming is not None
        while True:
            outs = rng.choice(len(shape.leaving.sites), size=2 - shape.dropped)
            ins = rng.choice(len(shape.coming.sites), size=2)
            orders = list(
                shape.orders([shape.leaving.sites[k] for k in outs], [shape.coming.sites[k] for k in ins])
            )
            if not orders or members._rises(orders[0]) != shape.runs - 1:
                continue
            stack = stack_of(orders[int(rng.integers(len(orders)))])
            if members.buildable(stack):
                return stack


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    rng, physics = np.random.default_rng(5), toy.ToyPhysics()
    start = toy.stack((20, 0.2), (20, 0.1), (18, 0.15), (17, 0.1), (16, 0.15), (14, 0.2), (9, 0.3))
    stock = toy.random_stock(rng, 18)
    before = physics.forces(physics.packed(start), 0)
    goal = toy.goal(physics, start, desired=before, tolerance=np.full(6, 0.05))
    problem = toy.problem(physics, start, stock, goal)
    evaluator = Evaluator(physics, cores=1)
    kinds = shapes(
        problem_data(problem, evaluator),
        evaluator,
        2,
        relative_half_width=GoalMetrics(goal).relative_half_width,
        setting=0,
    )
    return Shelf(problem, kinds)


def planted(goal: Goal, forces: Floats, rng: np.random.Generator) -> Goal:
    """Windows which forces lie just inside of, by a hundred-thousandth to a thousandth at one edge."""
    width = rng.uniform(0.004, 0.03, forces.size) * forces
    place, side = rng.integers(forces.size), rng.choice([-1, 1])
    middle = forces + rng.uniform(-0.9, 0.9, forces.size) * width
    middle[place] = forces[place] + side * (width[place] - 10.0 ** rng.uniform(-5, -3) * forces[place])
    whole = Window(
        "all",
        Role.TARGET,
        tuple(goal.velocities),
        tuple(goal.before),
        tuple(middle - width),
        tuple(middle),
        tuple(middle + width),
    )
    return replace(goal, windows=(whole,))


def left_over(shelf: Shelf, shape: Shape, goal: Goal, *, is_hard: bool) -> set[Stack] | None:
    """Stacks that a screen of a whole shape leaves; None when it gave up."""
    tree = shelf.tree(goal)
    one = Screen(tree, cores=1)
    tree.add(root_families(shape, 2))
    one.begin(1)
    nodes = one.rule_out(
        tree.share(every=1), BestFeasible(tree.metrics, 10).against, lambda: None, is_hard=is_hard
    )
    assert one._done or one._large or nodes
    return {node.stack for node in nodes if node.stack is not None} if one._done or one._large else None


def lost(shelf: Shelf, rng: np.random.Generator, *, goals: int, is_hard: bool = True) -> tuple[int, int]:
    """Of so many planted answers, how many were screened out, and how many stacks were left on average."""
    missing, left = 0, []
    large = [shape for shape in shelf.kinds if shape.ways(2 - shape.dropped, 2) > screen.WORTH]
    for number in range(goals):
        shape = large[number % len(large)]
        stack = shelf.drawn(shape, rng)
        physics = shelf.problem.physics
        goal = planted(shelf.problem.goal, physics.forces(physics.packed(stack), 0), rng)
        assert rank.misfit(goal, physics.forces(physics.packed(stack), 0)) == 0
        found = left_over(shelf, shape, goal, is_hard=is_hard)
        if found is not None:
            missing += stack not in found
            left.append(len(found))
    assert len(left) > goals / 2
    return missing, int(np.mean(left))


def test_an_answer_at_the_edge_of_a_window_is_left_and_most_of_the_rest_is_not(shelf: Shelf) -> None:
    missing, left = lost(shelf, RNG, goals=tries(quick=4, thorough=30))
    assert missing == 0
    assert left < 400


@thorough_only("the other half, that nothing is lost, is tried in a quick run")
def test_without_margins_such_answers_are_lost(shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(surrogate_force, "SAFETY", 0.0)
    monkeypatch.setattr(member_screen, "CHECKED", 0)
    assert lost(shelf, RNG, goals=15)[0] > 1


def test_nothing_is_ruled_out_by_what_is_known_of_others_where_it_has_what_none_of_them_has(
    shelf: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    shape = max(shelf.kinds, key=lambda one: one.ways(2 - one.dropped, 2))
    physics = shelf.problem.physics
    goal = planted(shelf.problem.goal, physics.forces(physics.packed(shelf.drawn(shape, RNG)), 0), RNG)

    def predicted() -> int:
        tree = shelf.tree(goal)
        one = Screen(tree, cores=1)
        tree.add(root_families(shape, 2))
        against = BestFeasible(tree.metrics, 10).against
        one.rule_out(tree.share(every=1), against, lambda: None, is_hard=True)
        return one.predicted.sets

    assert predicted() > 100
    monkeypatch.setattr(
        surrogate_force.SurrogateForce, "covers", lambda _, inputs: np.zeros(len(inputs), np.bool_)
    )
    assert predicted() == 0


def test_none_is_lost_among_members_that_are_gone_through_by_sums(
    shelf: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    go_by_sums(monkeypatch)
    missing, left = lost(shelf, RNG, goals=tries(quick=4, thorough=20), is_hard=False)
    assert missing == 0
    assert left < 400


@thorough_only("the other half, that nothing is lost, is tried in a quick run")
def test_by_sums_such_answers_are_lost_without_margins(shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
    go_by_sums(monkeypatch)
    monkeypatch.setattr(additive_model, "SAFETY", 0.0)
    for module in (by_sums, member_sample):
        monkeypatch.setattr(module, "CHECKED", 0)
    assert lost(shelf, RNG, goals=15, is_hard=False)[0] > 1


@pytest.mark.parametrize("name", TWO_CHANGES)
def test_by_sums_the_search_agrees_with_trying_everything(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """On the real physics, every tree gone through by sums."""
    if name != "two stages" and tries(quick=0, thorough=1) == 0:
        pytest.skip("only with --thorough: one damper is enough for a quick run")
    at_once = by_sums_at_once(monkeypatch)
    rng, reach = np.random.default_rng(11), in_reach(TWO_CHANGES[name], 2)
    for number in range(tries(quick=2, thorough=8)):
        agrees(reach, rng, changes=2, kind=KINDS[number % 3])
    assert at_once


@pytest.fixture
def at_once(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    return screen_at_once(monkeypatch)


@pytest.mark.parametrize("name", TWO_CHANGES)
def test_screened_at_once_the_search_agrees_with_trying_everything(name: str, at_once: list[int]) -> None:
    """On the real physics, orders inside packs, two stages and rings included: one goal in a quick run."""
    if name in {"wide taper", "ring"} and tries(quick=0, thorough=1) == 0:
        pytest.skip("only with --thorough: two dampers are enough for a quick run")
    rng, reach = np.random.default_rng(6), in_reach(TWO_CHANGES[name], 2)
    for number in range(tries(quick=1, thorough=4)):
        agrees(reach, rng, changes=2, kind=KINDS[(number + 1) % 3])
    assert at_once


def solved(shelf: Shelf, goal: Goal, *, cores: int) -> Answer:
    return solve(replace(shelf.problem, goal=goal), most_changes=2, control=Control(cores=cores))


@thorough_only("searches three times; parts of a tree are tried in a quick run")
def test_what_is_found_does_not_depend_on_the_number_of_processes(shelf: Shelf, at_once: list[int]) -> None:
    physics = shelf.problem.physics
    stack = shelf.drawn(shelf.kinds[-1], np.random.default_rng(2))
    goal = planted(shelf.problem.goal, physics.forces(physics.packed(stack), 0), np.random.default_rng(3))
    one, two = (solved(shelf, goal, cores=cores) for cores in (1, 2))
    assert one.status is two.status is Status.PROVEN_LEAST
    assert one.candidates == two.candidates
    assert one.effort == two.effort
    assert at_once
