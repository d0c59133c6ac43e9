"""The search against every stack there is, on dampers small enough to try them all."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from damping_model.stack.stack import Stack
from optimiser.errors import InputError
from optimiser.model import certificate as check
from optimiser.model import rank
from optimiser.model.answer import Status
from optimiser.model.goal import Goal
from optimiser.model.rules import rules_for, violations
from optimiser.model.stock import Stock
from optimiser.search import Control, Progress, solve
from tests.helpers import brute_force, toy
from tests.helpers.counts import some_of, thorough_only, tries

pytestmark = pytest.mark.usefixtures("few_drawn")


def job(
    seed: int, *, shims: int, types: int = 4, reachable: bool = False, average: bool = False
) -> tuple[toy.ToyPhysics, Stack, Stock, Goal]:
    """A random stack that keeps the rules, a cut-down shelf, and a goal of random size or one within reach."""
    rng = np.random.default_rng(seed)
    physics = toy.ToyPhysics()
    while True:
        start = toy.random_stack(rng, shims)
        if not violations(rules_for(start, toy.MOUNTING), start, toy.MOUNTING):
            break
    stock = toy.random_stock(rng, types)
    before = physics.forces(physics.packed(start), 0)
    tolerance = np.full(before.size, rng.uniform(0.01, 0.035))
    if reachable:  # what a stack one change away gives, as far as that is a change
        desired, targets = within_reach(rng, physics, start, stock, 2 * tolerance * before), before.size
    else:
        desired, targets = (
            before * (1 + rng.choice([-1, 1]) * rng.uniform(0.04, 0.15)),
            int(rng.integers(1, 4)),
        )
    goal = toy.goal(physics, start, desired=desired, tolerance=tolerance, targets=targets)
    return physics, start, stock, toy.averaged(goal) if average else goal


def within_reach(
    rng: np.random.Generator, physics: toy.ToyPhysics, start: Stack, stock: Stock, least: np.ndarray
) -> np.ndarray:
    """Forces of any one stack a change away that moves one of them by more than so much."""
    before, rules = physics.forces(physics.packed(start), 0), rules_for(start, toy.MOUNTING)
    names = sorted(brute_force.within(start, stock, 1))
    for place in rng.permutation(len(names)):
        made = Stack(tuple(key.shim for key in names[place]))
        if violations(rules, made, toy.MOUNTING):
            continue
        forces = physics.forces(physics.packed(made), 0)
        if (np.abs(forces - before) > least).any():
            return forces
    raise AssertionError("no single change moves a force")


def agrees_with_brute_force(
    seed: int, *, shims: int, changes: int, types: int = 4, average: bool = False
) -> Status:
    physics, start, stock, goal = job(
        seed, shims=shims, types=types, reachable=seed % 2 == 1, average=average
    )
    rules = rules_for(start, toy.MOUNTING)
    answer = solve(toy.problem(physics, start, stock, goal), most_changes=changes)
    assert check.faults(answer, toy.problem(physics, start, stock, goal)) == ()
    met: dict[tuple[int, tuple[brute_force.Name, ...]], float] = {}
    nearest, have = rank.misfit(goal, goal.before), brute_force.at_hand(start, stock)
    for name, count in brute_force.within(start, stock, changes).items():
        if not brute_force.buildable(name, have, goal, toy.MOUNTING, rules):
            continue
        made = Stack(tuple(key.shim for key in name))
        forces = physics.forces(physics.packed(made), 0)
        misfit = rank.misfit(goal, forces)
        if misfit > 0 and misfit >= nearest:
            continue
        if count > 0:
            nearest = min(nearest, misfit)
            if misfit == 0:
                made_of = count, brute_force.contents(name)  # of a set of shims the best order is listed
                met[made_of] = min(met.get(made_of, np.inf), round(rank.target_error(goal, forces), 9))
    if met:
        first = min(answer.candidates, key=rank.closeness)
        least = min(count for count, _ in met)
        assert answer.status is Status.PROVEN_LEAST
        assert answer.proven_too_few == least - 1
        assert len(first.changes) == least
        assert sum(len(one.changes) == least for one in answer.candidates) == min(
            10, sum(count == least for count, _ in met)
        )
        if answer.closest_proven:
            assert round(first.target_error, 9) == min(
                error for (count, _), error in met.items() if count == least
            )
        else:  # so many are near that the ranking ended first, and says so
            assert shims == 24
    else:
        assert answer.status is Status.PROVEN_IMPOSSIBLE
        assert answer.proven_too_few == changes
        assert answer.nearest is not None
        assert answer.nearest_proven
        assert answer.nearest.misfit == pytest.approx(nearest, abs=1e-9)
    return answer.status


@pytest.mark.parametrize("block", range(tries(quick=1, thorough=8)))
def test_one_change_agrees_with_brute_force(block: int) -> None:
    """160 random jobs of 6 to 24 shims, 10 in a quick run."""
    seen = {
        agrees_with_brute_force(seed, shims=(6, 6, 7, 8, 8, 10, 14, 24)[seed % 8], changes=1)
        for seed in range(20 * block, 20 * block + tries(quick=10, thorough=20))
    }
    assert seen == {Status.PROVEN_LEAST, Status.PROVEN_IMPOSSIBLE}


@pytest.mark.parametrize("block", range(tries(quick=1, thorough=8)))
def test_two_changes_agree_with_brute_force(block: int) -> None:
    """40 random jobs, 3 in a quick run, whose every stack within two changes can be tried."""
    for seed in range(1000 + 5 * block, 1000 + 5 * block + tries(quick=3, thorough=5)):
        agrees_with_brute_force(seed, shims=6, changes=2, types=2)


@pytest.mark.parametrize("block", range(tries(quick=1, thorough=3)))
def test_one_change_that_moves_an_average_agrees_with_brute_force(block: int) -> None:
    """160 random jobs of 6 to 24 shims, 7 in a quick run."""
    seen = {
        agrees_with_brute_force(seed, shims=(6, 6, 7, 8, 8, 10, 14, 24)[seed % 8], changes=1, average=True)
        for seed in some_of(range(2000 + 20 * block, 2020 + 20 * block), every=3)
    }
    assert seen == {Status.PROVEN_LEAST, Status.PROVEN_IMPOSSIBLE}


@pytest.mark.parametrize("block", range(tries(quick=1, thorough=3)))
def test_two_changes_that_move_an_average_agree_with_brute_force(block: int) -> None:
    """40 random jobs, 2 in a quick run, whose every stack within two changes can be tried."""
    for seed in some_of(range(3000 + 5 * block, 3005 + 5 * block), every=4):
        agrees_with_brute_force(seed, shims=6, changes=2, types=2, average=True)


def test_the_same_question_has_the_same_answer() -> None:
    """Byte for byte."""
    physics, start, stock, goal = job(3, shims=9)
    again = [solve(toy.problem(physics, start, stock, goal), most_changes=1) for _ in range(2)]
    assert repr(again[0]) == repr(again[1])


def test_clicks_alone_come_first() -> None:
    """An adjuster that reaches it leaves the stack alone."""
    physics = toy.ToyPhysics(settings=({"rebound": 0}, {"rebound": 1}, {"rebound": 2}))
    start = toy.stack((20, 0.2), (18, 0.2), (9, 0.3))
    before = physics.forces(physics.packed(start), 0)
    goal = toy.goal(physics, start, desired=before * 0.96, tolerance=np.full(6, 0.02), targets=6)
    answer = solve(toy.problem(physics, start, Stock(), goal), most_changes=2)
    assert answer.status is Status.PROVEN_LEAST
    assert [(one.changes, one.setting) for one in answer.candidates] == [((), 1)]


def test_a_time_limit_is_never_called_impossible() -> None:
    """What stands is given with its bound."""
    physics, start, stock, goal = job(14, shims=12)
    answer = solve(toy.problem(physics, start, stock, goal), most_changes=2, control=Control(time_limit=0.0))
    assert answer.status is Status.BEST_SO_FAR
    assert answer.proven_too_few == 0
    assert answer.nearest is not None


@thorough_only("searches to be interrupted; reach tries the same in a quick run")
def test_an_interruption_gives_what_stands() -> None:
    """At ten different moments, four in a quick run, and every answer passes the check."""
    physics, start, stock, goal = job(16, shims=24)
    for moment in some_of(range(0, 40, 4), every=3):
        asked = iter(range(10**6))
        told: list[Progress] = []
        answer = solve(
            toy.problem(physics, start, stock, goal),
            most_changes=2,
            control=Control(
                progress=told.append,
                should_stop=lambda asked=asked, moment=moment: next(asked) >= moment,  # type: ignore[misc]
            ),
        )
        assert answer.status is Status.INTERRUPTED
        assert len(told) == moment
        assert check.faults(answer, toy.problem(physics, start, stock, goal)) == ()


def test_a_stack_that_breaks_a_rule_is_refused_in_words() -> None:
    """A face shim that leaves the ports open is not searched on."""
    physics = toy.ToyPhysics()
    start = toy.stack((16, 0.2), (9, 0.3))
    sound = toy.stack((20, 0.2), (9, 0.3))
    goal = toy.goal(
        physics, sound, desired=physics.forces(physics.packed(sound), 0), tolerance=np.full(6, 0.02)
    )
    with pytest.raises(InputError, match="16 mm wide and leaves the ports open"):
        solve(toy.problem(physics, start, Stock(), goal), most_changes=1)


def test_the_check_finds_what_is_wrong_with_a_made_up_answer() -> None:
    """A judge that never objects is none."""
    physics, start, stock, goal = job(14, shims=12)
    problem = toy.problem(physics, start, stock, goal)
    answer = solve(problem, most_changes=1)
    assert answer.nearest is not None
    lied = replace(answer.nearest, forces=tuple(goal.desired), misfit=0.0)
    wrong = check.faults(replace(answer, candidates=(lied,), status=Status.PROVEN_LEAST), problem)
    assert any("fresh run" in words for words in wrong)
    empty = check.faults(
        replace(answer, nearest=replace(answer.nearest, stack=Stack(start.shims[1:]))), problem
    )
    assert any("steps do not lead" in words for words in empty)
