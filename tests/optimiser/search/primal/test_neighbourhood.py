"""What heuristic are made of: moves of one change each, and where two shims of one move do not add up."""

from typing import Any

import numpy as np
import pytest

from optimiser.model import rank
from optimiser.model.edits import difference, keys_of
from optimiser.search.evaluator import Evaluator
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.primal.moves import MoveKind, Moves
from optimiser.search.primal.neighbourhood import PrimalHeuristic
from optimiser.search.primal.orders import Ordered, nearer_orders
from tests.helpers import demo_problem, toy
from tests.helpers.real_goals import ONE_CHANGE, in_reach, planted_goal

CASE = "a_more_support"


@pytest.fixture(scope="module")
def demo() -> demo_problem.DemoProblem:
    return demo_problem.load(CASE)


@pytest.fixture(scope="module")
def moves(demo: demo_problem.DemoProblem) -> Moves:
    return Moves(
        demo.shapes[1][0], evaluator=Evaluator(demo.setup.physics), setting=demo.setup.physics.setting
    )


def of_kind(moves: Moves, kind: MoveKind) -> list[Any]:
    return [moves.sites([move]) for move in moves.of_kind(kind)]


@pytest.mark.parametrize("kind", list(MoveKind))
def test_every_move_is_one_change(demo: demo_problem.DemoProblem, moves: Moves, kind: MoveKind) -> None:
    """Also one that takes four shims past the crossover: for the tuner it is the crossover that moves."""
    made = [moves.stack(sites) for sites in of_kind(moves, kind)]
    assert len(made) >= 8
    assert {one and difference(demo.setup.stack, one).changes for one in made} == {1}


def test_every_step_counts_as_one_change_and_is_one(demo: demo_problem.DemoProblem, moves: Moves) -> None:
    """Shims out and in at once, and another crossover elsewhere, are one change each as a tuner counts."""
    rng = np.random.default_rng(1)
    steps = moves.steps()
    for k in rng.choice(len(steps), size=400, replace=False):
        assert moves.changes(steps[k]) == 1
        made = moves.stack(moves.sites(steps[k]))
        assert made is None or difference(demo.setup.stack, made).changes <= 1


def test_what_two_crossovers_do_does_not_add_up(moves: Moves) -> None:
    """Why one for another is a move of its own: out closes the gap, in doubles it, both leave it nearly alone."""
    own = {moves.sites([move]): moves.own[move] for move in range(len(moves.kinds))}
    far = [
        np.abs(own[out, put_in] - own[out,] - own[put_in,]).max()
        for out, put_in in of_kind(moves, MoveKind.EXCHANGE)
        if (out,) in own and (put_in,) in own
    ]
    assert np.median(far) > 0.2


def test_an_own_effect_is_that_of_the_stack_it_leads_to(demo: demo_problem.DemoProblem, moves: Moves) -> None:
    physics = demo.setup.physics
    for move in np.random.default_rng(2).choice(len(moves.kinds), size=20, replace=False):
        stack = moves.stack(moves.sites([move]))
        assert stack is not None
        forces = physics.coarse_forces(physics.packed(stack), physics.setting)
        assert np.log(forces) - moves.before == pytest.approx(moves.own[move], abs=1e-12)


def test_a_proposal_is_evaluated_by_the_whole_curve_and_has_as_many_changes_as_are_asked(
    demo: demo_problem.DemoProblem,
) -> None:
    setup = demo.setup
    heuristic = PrimalHeuristic(
        demo.shapes[1][0],
        evaluator=Evaluator(setup.physics),
        metrics=GoalMetrics(setup.asked.goal),
        setting=setup.physics.setting,
        buildable=lambda _: True,
    )
    found = list(heuristic.with_changes(1))
    for stack, forces in found:
        assert difference(setup.stack, stack).changes == 1
        assert forces == pytest.approx(
            setup.physics.forces(setup.physics.packed(stack), setup.physics.setting)
        )
    assert min(rank.misfit(setup.asked.goal, forces) for _, forces in found) == 0


def test_another_order_of_the_same_shims_is_proposed_where_it_comes_nearer() -> None:
    """On the real physics; the windows lie around a thin shim on the piston's side, and it is put behind first."""
    reach = in_reach(ONE_CHANGE["taper"], 1)
    old, thin = keys_of(reach.problem.stack), toy.key(20, 0.10)
    behind, before = (
        next(one for one in reach.stacks if keys_of(one.stack) == wanted)
        for wanted in ((*old[:3], thin, *old[3:]), (thin, *old))
    )
    metrics = GoalMetrics(planted_goal(reach, before.forces))
    evaluator = Evaluator(reach.problem.physics, cores=1)
    setting = reach.problem.physics.setting
    orders = [behind.stack, before.stack]
    (found,) = nearer_orders(
        [Ordered(orders, np.array(behind.forces), setting)], evaluator=evaluator, metrics=metrics
    )
    assert found is not None
    assert found[0] == before.stack
    assert metrics.misfit(found[1]) == 0
    as_near = Ordered(orders[::-1], np.array(before.forces), setting)
    assert nearer_orders([as_near], evaluator=evaluator, metrics=metrics) == [None]
