"""The ladder says what each number of changes does at best; nothing on it is untrue."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from damping_model.stack.packs import PackedStack
from optimiser.model import rank
from optimiser.model.answer import NO_EFFORT, Answer, Status
from optimiser.model.certificate import faults, rung_faults
from optimiser.model.edits import stack_of
from optimiser.model.ladder import LadderRung
from optimiser.model.problem import Problem
from optimiser.model.stock import Stock
from optimiser.search import climb, solve, survey
from tests.helpers import brute_force, toy
from tests.helpers.counts import tries

pytestmark = pytest.mark.usefixtures("few_drawn")

CLICKS = ({"rebound": 0}, {"rebound": 1}, {"rebound": 2})
START = toy.stack((20, 0.2), (18, 0.2), (9, 0.3))


def problem(*, share: float, tolerance: float, shelf: Stock | None = None) -> Problem:
    """A click takes 4 % of the force of the toy; this much is wanted of all velocities."""
    physics = toy.ToyPhysics(settings=CLICKS)
    before = physics.forces(physics.packed(START), 0)
    goal = toy.goal(physics, START, desired=before * share, tolerance=np.full(6, tolerance), targets=6)
    goal = replace(goal, windows=goal.windows[:1])  # nothing is left to hold
    return toy.problem(physics, START, shelf or Stock(), goal)


def ladder(asked: Problem, *, most_changes: int = 2) -> tuple[Answer, dict[int, LadderRung]]:
    known = survey(asked, most_changes=most_changes)
    answer = solve(asked, most_changes=most_changes, known=known)
    found, rungs = climb(asked, answer, known=known, wanted=10)
    assert faults(found, asked) == ()
    assert rung_faults(rungs, asked) == ()
    return found, {rung.changes: rung for rung in rungs}


def test_clicks_that_meet_the_goal_are_the_first_rung_and_one_idea() -> None:
    found, rungs = ladder(problem(share=0.95, tolerance=0.035))
    assert [idea.way.words for idea in rungs[0].ideas] == ["clicks"]
    assert len(rungs[0].ideas[0].twins) == 1  # 4 % and 8 % both lie between 1.5 and 8.5 %
    assert rungs[0].closed
    assert not found.candidates[0].changes


def test_clicks_that_miss_are_shown_at_their_nearest_and_proven_to_miss() -> None:
    _, rungs = ladder(problem(share=0.90, tolerance=0.01))
    nearest = rungs[0].nearest
    assert nearest is not None
    assert (nearest.setting, rungs[0].in_range, rungs[0].closed) == (2, False, True)


def test_more_effort_than_is_needed_shows_what_meets_the_goal_or_nothing() -> None:
    """Turning an adjuster will do; few shims were tried beyond that, and all of them miss it."""
    _, rungs = ladder(problem(share=0.96, tolerance=0.001))
    assert rungs[0].in_range
    assert not any(rungs[changes].in_range for changes in (1, 2))
    assert [rungs[changes].best for changes in (1, 2)] == [None, None]


class Uneven(toy.ToyPhysics):
    """One click in gives 4 % more, one click out a thousandth less."""

    def forces(self, plates: PackedStack, setting: int) -> NDArray[np.float64]:
        return toy.ToyPhysics.forces(self, plates, 0) * (1.04, 1.0, 0.999)[setting]


def test_clicks_that_move_the_target_the_wrong_way_are_no_nearest_while_others_move_it_right() -> None:
    """6 % more is wanted: 4 % more spoils the held band, and still says more than a thousandth less."""
    physics = Uneven(settings=CLICKS, setting=1)
    before = physics.forces(physics.packed(START), 1)
    goal = toy.goal(physics, START, desired=before * 1.06, tolerance=np.repeat([0.01, 0.005], 3))
    _, rungs = ladder(toy.problem(physics, START, Stock(), goal))
    assert rungs[0].nearest is not None
    assert rungs[0].nearest.setting == 0
    assert rungs[0].nearest.misfit > 6


def test_a_damper_without_clickers_has_no_rung_of_clicks() -> None:
    physics = toy.ToyPhysics()
    before = physics.forces(physics.packed(START), 0)
    goal = toy.goal(physics, START, desired=before * 1.5, tolerance=np.full(6, 0.01))
    _, rungs = ladder(toy.problem(physics, START, Stock(), goal))
    assert min(rungs) == 1


def test_a_click_besides_may_spare_a_change_and_then_comes_first() -> None:
    """One change at the clicks as they are misses; with a click more it meets the goal."""
    shelf = Stock({toy.key(18, 0.2): 4})
    physics = toy.ToyPhysics(settings=CLICKS)
    with_one = toy.stack((20, 0.2), (18, 0.2), (18, 0.2), (9, 0.3))
    wanted = physics.forces(physics.packed(with_one), 1)
    goal = toy.goal(physics, START, desired=wanted, tolerance=np.full(6, 0.004), targets=6)
    asked = toy.problem(physics, START, shelf, replace(goal, windows=goal.windows[:1]))
    alone = solve(asked, most_changes=2)
    found, rungs = ladder(asked)
    assert alone.proven_too_few >= 1
    assert rungs[1].in_range
    assert found.status is Status.PROVEN_LEAST
    assert (len(found.candidates[0].changes), found.candidates[0].setting) == (1, 1)
    assert found.proven_too_few == 0


def test_the_nearest_is_the_least_missed_of_all_rungs_with_a_click_turned_besides_too() -> None:
    """One change misses by little with a click more; as the clicks are, two changes miss by more."""
    shelf = Stock({toy.key(18, 0.2): 4})
    physics = toy.ToyPhysics(settings=CLICKS)
    with_one = toy.stack((20, 0.2), (18, 0.2), (18, 0.2), (9, 0.3))
    wanted = 1.003 * physics.forces(physics.packed(with_one), 1)
    goal = toy.goal(physics, START, desired=wanted, tolerance=np.full(6, 0.001), targets=6)
    asked = toy.problem(physics, START, shelf, replace(goal, windows=goal.windows[:1]))
    found, rungs = ladder(asked)
    assert found.nearest is not None
    assert (len(found.nearest.changes), found.nearest.setting) == (1, 1)
    assert found.nearest == rungs[1].nearest
    assert found.nearest.misfit == min(rung.nearest.misfit for rung in rungs.values() if rung.nearest)
    as_clicks_are = solve(asked, most_changes=2)
    assert as_clicks_are.nearest is not None
    assert found.nearest.misfit < as_clicks_are.nearest.misfit
    assert found.status is as_clicks_are.status is Status.PROVEN_IMPOSSIBLE
    assert as_clicks_are.nearest_proven
    assert not found.nearest_proven  # of stacks with clicks turned besides not all were looked at


@pytest.mark.parametrize("seed", range(tries(quick=1, thorough=24)))
def test_on_random_jobs_nothing_on_the_ladder_is_untrue(seed: int) -> None:
    """Held against every single change: what meets the goal by brute force has a rung that says so."""
    rng = np.random.default_rng(seed)
    physics = toy.ToyPhysics()
    start, shelf = toy.random_stack(rng, 7), toy.random_stock(rng, 6)
    before = physics.forces(physics.packed(start), 0)
    goal = toy.goal(
        physics,
        start,
        desired=before * rng.uniform(0.9, 1.15),
        tolerance=np.full(6, rng.uniform(0.01, 0.05)),
        targets=3,
    )
    asked = toy.problem(physics, start, shelf, goal)
    found, rungs = ladder(asked)
    have = brute_force.at_hand(start, shelf)
    met = [
        name
        for name, changes in brute_force.within(start, shelf, 1).items()
        if changes == 1
        and brute_force.buildable(name, have, goal, toy.MOUNTING, asked.required_rules)
        and rank.misfit(goal, physics.forces(physics.packed(stack_of(name)), 0)) == 0
    ]
    assert rungs[1].closed == bool(found.candidates == () or found.candidates[0].changes)
    if rungs[1].closed:
        assert rungs[1].in_range == bool(met)
    for rung in rungs.values():
        places = [rank.order(idea.best, present=0) for idea in rung.ideas]
        assert places == sorted(places)
        assert len({idea.way for idea in rung.ideas}) == len(rung.ideas)
    if found.candidates:
        assert found.candidates == tuple(rank.in_order(found.candidates, present=0))


def test_what_is_not_closed_is_not_called_proven() -> None:
    """An answer that proves nothing gives a ladder that proves nothing of changed stacks."""
    nothing = Answer(Status.BEST_SO_FAR, (), 0, 2, None, False, NO_EFFORT)
    asked = problem(share=0.5, tolerance=0.01)
    _, rungs = climb(asked, nothing, known=survey(asked, most_changes=2), wanted=10)
    assert [(rung.changes, rung.closed) for rung in rungs] == [(0, True), (1, False), (2, False)]
