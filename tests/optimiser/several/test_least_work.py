"""More changes in one assembly may be less work than fewer in two: found, and closed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from optimiser.model import rank
from optimiser.model.answer import Status
from optimiser.model.damper_answer import USUAL_TIMES, WorkTimes
from optimiser.model.goal import Goal, Window
from optimiser.model.open_stacks import DamperProblem
from optimiser.model.whole_certificate import whole_faults
from optimiser.search import Control
from optimiser.several import solve_least_work, solve_whole
from tests.helpers.counts import thorough_only
from tests.helpers.two_stacks import SHOCK, both_in_reach

TWO_IN_TWO, THREE_IN_ONE = (2, 2), (3, 1)
pytestmark = thorough_only("every way to make three changes takes long to try")


def three_in_one_or_two_in_two() -> tuple[DamperProblem, set[tuple[int, int]]]:
    """A goal that both meet, and no less in one assembly; all that meets it, as changes and assemblies."""
    reach = both_in_reach(SHOCK, 3)
    problem = reach.problem
    every = [(number, problem.assemblies(stacks), forces) for number, stacks, forces in reach.together]
    kinds = np.array([(number, assemblies) for number, assemblies, _ in every])
    logs = np.log([forces for *_, forces in every])
    three, two = (np.flatnonzero((kinds == kind).all(axis=1)) for kind in (THREE_IN_ONE, TWO_IN_TWO))
    less = np.flatnonzero((kinds[:, 0] <= 2) & (kinds[:, 1] <= 1))

    def apart(one: int, others: np.ndarray) -> float:
        return float(np.abs(logs[others] - logs[one]).max(axis=1).min())

    middle = min(three.tolist(), key=lambda one: apart(one, two) / apart(one, less))
    width = (apart(middle, two) + apart(middle, less)) / 2
    forces = np.exp(logs[middle])
    windows = [_around(window, forces[part], width) for window, part in problem.goal.parts]
    goal = Goal(tuple(windows), 0.0, 1.0)
    met = {(number, opened) for number, opened, found in every if rank.misfit(goal, found) == 0}
    return replace(problem, goal=goal), met


def _around(window: Window, desired: np.ndarray, width: float) -> Window:
    low, mid, high = (tuple(map(float, desired * np.exp(by * width))) for by in (-1, 0, 1))
    return replace(window, lower=low, desired=mid, upper=high)


def test_three_changes_in_one_assembly_are_found_where_two_in_two_take_longer() -> None:
    problem, met = three_in_one_or_two_in_two()
    assert min(met) == TWO_IN_TWO
    assert THREE_IN_ONE in met
    found, closed = solve_least_work(problem, most_changes=3, control=Control(), setting=problem.setting)
    assert closed
    assert whole_faults(found, problem) == ()
    assert (found.status, found.proven_too_few) == (Status.PROVEN_LEAST, 1)
    first = found.candidates[0]
    assert (first.number_of_changes, first.assemblies) == TWO_IN_TWO
    least = min(found.candidates, key=problem.time)
    assert (least.number_of_changes, least.assemblies) == THREE_IN_ONE


def test_where_opening_costs_nothing_two_in_two_are_the_least_work() -> None:
    problem, _ = three_in_one_or_two_in_two()
    free = replace(problem, times=WorkTimes(opening=0.0, one_more=0.0, change=300.0))
    found, closed = solve_least_work(free, most_changes=3, control=Control(), setting=free.setting)
    least = min(found.candidates, key=free.time)
    assert closed
    assert (least.number_of_changes, least.assemblies) == TWO_IN_TWO


def test_what_takes_longer_than_is_of_interest_is_looked_for_only_to_say_what_is_fewest() -> None:
    """Under the time of two assemblies only one is searched; fewer changes in two are looked for afterwards."""
    problem, _ = three_in_one_or_two_in_two()
    limit = USUAL_TIMES.of(assemblies=2, changes=2)
    found, closed = solve_least_work(
        problem, most_changes=3, control=Control(), under=limit, setting=problem.setting
    )
    assert closed
    assert whole_faults(found, problem) == ()
    assert (found.status, found.proven_too_few) == (Status.PROVEN_LEAST, 1)
    kinds = {(one.number_of_changes, one.assemblies) for one in found.candidates}
    assert {TWO_IN_TWO, THREE_IN_ONE} <= kinds
    under = USUAL_TIMES.of(assemblies=1, changes=3)
    found, closed = solve_least_work(
        problem, most_changes=3, control=Control(), under=under, setting=problem.setting
    )
    assert closed
    assert not found.candidates


def test_what_is_proven_of_one_assembly_is_proven_of_no_more() -> None:
    problem, _ = three_in_one_or_two_in_two()
    one = solve_whole(problem, most_changes=2, most_assemblies=1, setting=problem.setting)
    both = solve_whole(problem, most_changes=2, most_assemblies=2, setting=problem.setting)
    assert (one.status, one.candidates) == (Status.PROVEN_IMPOSSIBLE, ())
    assert (both.status, both.candidates[0].assemblies) == (Status.PROVEN_LEAST, 2)


def test_an_assembly_that_is_open_anyway_is_counted_once_and_comes_first() -> None:
    """With the adjuster's valve open for a bleed, a change in it opens nothing more."""
    problem, _ = three_in_one_or_two_in_two()
    main, adjuster = problem.open_stacks
    opened = replace(problem, open_anyway=(adjuster.assembly,))
    assert opened.fewest_opened == 1
    assert [opened.opened(places) for places in ((), (0,), (1,), (0, 1))] == [1, 2, 1, 2]
    assert main.assembly != adjuster.assembly
    found, closed = solve_least_work(opened, most_changes=3, control=Control(), setting=problem.setting)
    assert closed
    assert whole_faults(found, opened) == ()
