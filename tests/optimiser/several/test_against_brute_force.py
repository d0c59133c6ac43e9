"""On the real physics the search over two stacks at once agrees with trying every pair."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from optimiser.model import rank
from optimiser.model.answer import NO_EFFORT, Status
from optimiser.model.damper_answer import DamperAnswer
from optimiser.model.open_stacks import DamperProblem
from optimiser.model.stock import Stock
from optimiser.model.whole_certificate import whole_faults
from optimiser.search.idle_adjusters import AS_NEAR
from optimiser.several import solve_whole
from optimiser.several.shares import shared_out
from tests.helpers.counts import thorough_only, tries
from tests.helpers.screened import screen_at_once
from tests.helpers.two_stacks import (
    FORK,
    SHOCK,
    BothInReach,
    TwoPlaces,
    both_in_reach,
    met_with_one_each,
    random_goal,
)

KINDS = ("a pair", "any", "one stack")
TURNED = ("turned", "any")


def agrees(
    places: TwoPlaces, rng: np.random.Generator, *, changes: int, kind: str, turning: bool = False
) -> str:
    """Least number of changes, fewest assemblies, closest to the target and 'impossible', for one goal."""
    reach = both_in_reach(places, changes)
    goal = random_goal(rng, places, reach, kind=kind)
    problem = replace(reach.problem, goal=goal)
    setting = None if turning else problem.setting
    answer = solve_whole(problem, most_changes=changes, wanted=3, setting=setting)
    assert whole_faults(answer, problem) == ()
    met = [
        (0, 0, rank.target_error(goal, forces)) for forces in reach.clicks if rank.misfit(goal, forces) == 0
    ]
    for number, stacks, forces in reach.together:
        does = number and rank.misfit(goal, forces) == 0
        if does and problem.whole.objection(stacks, problem.setting) is None:
            met.append((number, problem.assemblies(stacks), rank.target_error(goal, forces)))
    least, assemblies, error = min(met, default=(changes + 1, 0, 0.0))
    for number in range(1, min(least, changes + 1)) if turning else ():
        if turned_agrees(answer, problem, reach, changes=number):
            return f"{number} turned"
    if not met:
        assert answer.status is Status.PROVEN_IMPOSSIBLE
        assert answer.proven_too_few == changes
        assert answer.nearest is not None
        return "impossible"
    assert answer.status is Status.PROVEN_LEAST
    assert answer.proven_too_few == least - 1
    first = answer.candidates[0]
    assert first.number_of_changes == least
    if least == 0:
        return "clicks"  # of clicks alone, the closest gives way to one that turns fewer adjusters
    assert first.assemblies == assemblies
    assert answer.closest_proven
    errors = [
        one.target_error
        for one in answer.candidates
        if (one.number_of_changes, one.assemblies) == (least, assemblies)
    ]
    assert min(errors) == pytest.approx(error, abs=1e-9)
    return f"{least} in {assemblies}"


def turned_agrees(answer: DamperAnswer, problem: DamperProblem, reach: BothInReach, *, changes: int) -> bool:
    """Whether so many changes do with adjusters turned; that the answer says so, if fewer as they are do not."""
    goal = problem.goal
    near = next(one for one in answer.nearest_of if one.number_of_changes == 0)
    assert near.misfit <= min(rank.misfit(goal, forces) for forces in reach.clicks) + AS_NEAR
    met = met_with_one_each(reach, goal, near.setting, changes=changes)
    if not met:
        return False
    assert (answer.status, answer.proven_too_few) == (Status.PROVEN_LEAST, changes - 1)
    assert {(one.setting, one.number_of_changes) for one in answer.candidates} == {(near.setting, changes)}
    errors = [rank.target_error(goal, forces) for forces in met]
    assert min(one.target_error for one in answer.candidates) == pytest.approx(min(errors), abs=1e-9)
    assert not answer.closest_proven  # at settings that were not tried others may come closer
    return True


def test_a_false_claim_about_several_stacks_is_found() -> None:
    """Forces, changes, assemblies, the shelf and the proof, each made false in turn."""
    reach = both_in_reach(SHOCK, 2)
    changed = [next(one for one in each if one.changes == 1) for each in reach.each]
    forces = reach.problem.whole.forces([one.stack for one in changed], reach.problem.setting)
    problem = replace(reach.problem, goal=random_goal(np.random.default_rng(1), SHOCK, reach, kind="any"))
    one = problem.candidate([one.stack for one in changed], setting=problem.setting, forces=forces)
    answer = DamperAnswer(
        status=Status.BEST_SO_FAR,
        candidates=(),
        proven_too_few=-1,
        most_changes=2,
        nearest=one,
        closest_proven=False,
        effort=NO_EFFORT,
    )
    assert whole_faults(answer, problem) == ()
    assert whole_faults(replace(answer, status=Status.PROVEN_LEAST), problem) != ()
    assert whole_faults(replace(answer, candidates=(replace(one, misfit=0.0),)), problem) != ()
    false = (
        replace(one, forces=tuple(1.001 * force for force in one.forces)),
        replace(one, changes=(one.changes[0], ())),
        replace(one, assemblies=1),
        replace(one, stacks=(problem.present[0], one.stacks[1])),
    )
    for claim in false:
        assert whole_faults(replace(answer, nearest=claim), problem) != ()
    bare = replace(problem, stock=Stock({}))
    needed = bool(problem.taken(one.stacks))
    assert (whole_faults(answer, bare) != ()) == needed
    apart = replace(problem, coupled=((problem.open_stacks[0].name, problem.open_stacks[1].name),))
    assert any("do not add" in words for words in whole_faults(answer, apart))
    assert shared_out(apart, 2) == ()
    assert [share.changes for share in shared_out(problem, 2)] == [(1, 1)]
    assert [share.changes for share in shared_out(problem, 3)] == [(1, 2), (2, 1)]


@pytest.fixture
def at_once(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    return screen_at_once(monkeypatch)


def outcomes(
    places: TwoPlaces,
    *,
    changes: int,
    goals: int,
    seed: int,
    kinds: Sequence[str] = KINDS,
    turning: bool = False,
) -> Counter[str]:
    rng = np.random.default_rng(seed)
    each = [kinds[number % len(kinds)] for number in range(goals)]
    return Counter(agrees(places, rng, changes=changes, kind=kind, turning=turning) for kind in each)


@thorough_only("two strokes cost more than a quick run has")
def test_a_base_valve_and_a_rebound_stack_agree_with_trying_every_pair() -> None:
    """24 random goals in both strokes."""
    seen = outcomes(FORK, changes=2, goals=24, seed=22)
    assert {"impossible", "2 in 2"} <= set(seen)


def test_a_main_piston_and_an_adjuster_stack_agree_with_trying_every_pair() -> None:
    """36 random goals in compression, one in a quick run."""
    goals = tries(quick=1, thorough=36)
    seen = outcomes(SHOCK, changes=2, goals=goals, seed=22)
    assert goals == 1 or {"impossible", "2 in 2", "1 in 1"} <= set(seen)


def test_adjusters_turned_besides_agree_with_trying_every_stack() -> None:
    """24 random goals in compression, two in a quick run, half of them around one change at some setting."""
    places, goals = replace(SHOCK, can_be_turned=True), tries(quick=2, thorough=24)
    seen = outcomes(places, changes=2, goals=goals, seed=24, kinds=TURNED, turning=True)
    assert goals < 24 or {"1 turned", "1 in 1", "impossible"} <= set(seen)


@thorough_only("two strokes cost more than a quick run has")
def test_adjusters_of_both_strokes_turned_besides_agree_with_trying_every_stack() -> None:
    """18 random goals in both strokes, half of them around one change at one of nine settings."""
    places = replace(FORK, can_be_turned=True)
    seen = outcomes(places, changes=2, goals=18, seed=25, kinds=TURNED, turning=True)
    assert {"1 turned", "impossible"} <= set(seen)


@thorough_only("every way to make three changes takes a minute to try")
@pytest.mark.parametrize("places", [FORK, SHOCK], ids=lambda one: one.damper)
def test_three_changes_agree_with_trying_every_pair(places: TwoPlaces) -> None:
    """Nine random goals for either damper."""
    assert outcomes(places, changes=3, goals=9, seed=23)["clicks"] < 5


@thorough_only("every way to make three changes takes a minute to try")
def test_screened_at_once_three_changes_agree_with_trying_every_pair(at_once: list[int]) -> None:
    """Members of one stack are screened beside sums of the other, however few they are."""
    assert outcomes(SHOCK, changes=3, goals=6, seed=26)["clicks"] < 4
    assert at_once
