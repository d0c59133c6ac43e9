"""On the real physics the search agrees with trying everything: orders inside packs, two stages, rings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimiser.model import certificate, rank
from optimiser.model.answer import Status
from optimiser.model.goal import Goal
from optimiser.search import solve
from tests.helpers.counts import tries
from tests.helpers.real_goals import ONE_CHANGE, TWO_CHANGES, InReach, in_reach, random_goal

KINDS = ("any", "one stack", "near an edge")


def least_misfit(reach: InReach, goal: Goal) -> float:
    """Of all stacks at the present setting that nothing speaks against."""
    physics = reach.problem.physics
    for one in sorted(reach.stacks, key=lambda one: rank.misfit(goal, one.forces)):
        if physics.objection(one.stack, physics.setting) is None:
            return rank.misfit(goal, one.forces)
    raise AssertionError("something speaks against every stack")


def agrees(reach: InReach, rng: np.random.Generator, *, changes: int, kind: str) -> None:
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
        assert answer.nearest is not None
        assert answer.nearest_proven
        assert answer.nearest.misfit <= least_misfit(reach, goal) * (1 + 1e-6)
        return
    least, error = min(met)
    assert answer.status is Status.PROVEN_LEAST
    assert answer.proven_too_few == least - 1
    assert len(answer.candidates[0].changes) == least
    if least == 0:
        return  # of clicks alone, the closest gives way to one that turns fewer adjusters
    assert answer.closest_proven
    errors = [one.target_error for one in answer.candidates if len(one.changes) == least]
    assert min(errors) == pytest.approx(error, abs=1e-9)


@pytest.mark.parametrize("name", ONE_CHANGE)
def test_one_change_agrees_with_trying_everything(name: str) -> None:
    """25 random goals for each of four dampers, one in a quick run."""
    rng, reach = np.random.default_rng(1), in_reach(ONE_CHANGE[name], 1)
    assert len(reach.stacks) > 50
    first = list(ONE_CHANGE).index(name)  # so that all kinds are in a quick run
    for number in range(tries(quick=1, thorough=25)):
        agrees(reach, rng, changes=1, kind=KINDS[(first + number) % 3])


@pytest.mark.parametrize("name", TWO_CHANGES)
def test_two_changes_agree_with_trying_everything(name: str) -> None:
    """30 random goals for four dampers, one for two of them in a quick run."""
    if name in {"wide taper", "two stages"} and tries(quick=0, thorough=1) == 0:
        pytest.skip("only with --thorough: two dampers are enough for a quick run")
    rng, reach = np.random.default_rng(2), in_reach(TWO_CHANGES[name], 2)
    assert len(reach.stacks) > 100
    goals = tries(quick=1, thorough=8 if name in {"taper", "ring"} else 7)
    for number in range(goals):
        agrees(reach, rng, changes=2, kind=KINDS[(number + 1) % 3])
