"""On the real physics the search agrees with trying everything: orders inside packs, two stages, rings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimiser.model import certificate, rank
from optimiser.model.answer import Status
from optimiser.search import solve
from tests.helpers.counts import tries
from tests.helpers.real_goals import ONE_CHANGE, TWO_CHANGES, InReach, in_reach, random_goal

KINDS = ("any", "one stack", "near an edge")


def agrees(reach: InReach, rng: np.random.Generator, *, changes: int, kind: str) -> Status:
    """Least number of changes, closest stack and 'impossible', for one goal."""
    goal = random_goal(rng, reach, changes=changes, kind=kind)
    problem = replace(reach.problem, goal=goal)
    physics = problem.physics
    answer = solve(problem, most_changes=changes, wanted=3)
    assert certificate.faults(answer, problem) == ()
    met = [(0, rank.target_error(goal, forces)) for forces in reach.clicks if rank.misfit(goal, forces) == 0]
    met += [
        (one.changes, rank.target_error(goal, one.forces))
        for one in reach.stacks
        if rank.misfit(goal, one.forces) == 0 and physics.objection(one.stack, physics.setting) is None
    ]
    if not met:
        assert answer.status is Status.PROVEN_IMPOSSIBLE
        assert answer.proven_too_few == changes
        return answer.status
    least, error = min(met)
    assert answer.status is Status.PROVEN_LEAST
    assert answer.proven_too_few == least - 1
    assert len(answer.candidates[0].changes) == least
    assert answer.closest_proven or not least
    errors = [one.target_error for one in answer.candidates if len(one.changes) == least]
    assert min(errors) == pytest.approx(error, abs=1e-9)
    return answer.status


@pytest.mark.parametrize("name", ONE_CHANGE)
def test_one_change_agrees_with_trying_everything(name: str) -> None:
    """25 random goals for each of four dampers, 3 in a quick run."""
    rng, reach = np.random.default_rng(1), in_reach(ONE_CHANGE[name], 1)
    assert len(reach.stacks) > 50
    goals = tries(quick=3, thorough=25)
    seen = {agrees(reach, rng, changes=1, kind=KINDS[number % 3]) for number in range(goals)}
    assert Status.PROVEN_LEAST in seen


@pytest.mark.parametrize("name", TWO_CHANGES)
def test_two_changes_agree_with_trying_everything(name: str) -> None:
    """30 random goals for four dampers, one for two of them in a quick run."""
    if name in {"wide taper", "two stages"} and tries(quick=0, thorough=1) == 0:
        pytest.skip("only with --thorough: two dampers are enough for a quick run")
    rng, reach = np.random.default_rng(2), in_reach(TWO_CHANGES[name], 2)
    assert len(reach.stacks) > 100
    goals = tries(quick=1, thorough=8 if name in {"taper", "ring"} else 7)
    seen = {agrees(reach, rng, changes=2, kind=KINDS[(number + 1) % 3]) for number in range(goals)}
    assert Status.PROVEN_LEAST in seen
