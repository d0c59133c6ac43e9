"""The fewest changes with one type bought, over two stacks, against trying every pair."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimiser.jobs.whole_shop import PurchaseProblem
from optimiser.model import rank
from optimiser.model.answer import Status
from optimiser.model.stock import Stock
from optimiser.model.whole_certificate import whole_faults
from optimiser.several import solve_whole
from tests.helpers.counts import tries
from tests.helpers.two_stacks import SHOCK, both_in_reach, random_goal


@pytest.mark.parametrize("seed", range(tries(quick=1, thorough=18)))
def test_the_fewest_changes_with_one_bought_type_are_those_of_trying_every_pair(seed: int) -> None:
    rng = np.random.default_rng(seed)
    reach = both_in_reach(SHOCK, 2)
    goal = random_goal(rng, SHOCK, reach, kind="a pair" if seed % 2 else "any")
    whole = replace(reach.problem, goal=goal)
    own = Stock({key: 1 for place, key in enumerate(sorted(whole.stock.counts)) if place % 2 == seed % 2})
    problem = PurchaseProblem(
        open_stacks=whole.open_stacks,
        whole=whole.whole,
        stock=whole.stock,
        goal=goal,
        own=own,
        most_types=1,
    )
    answer = solve_whole(problem, most_changes=2, wanted=5, setting=problem.setting)
    assert whole_faults(answer, problem) == ()
    met = [0 for forces in reach.clicks if rank.misfit(goal, forces) == 0]
    met += [
        number
        for number, stacks, forces in reach.together
        if number
        and len(problem.bought(stacks)) <= 1
        and rank.misfit(goal, forces) == 0
        and whole.whole.objection(stacks, problem.setting) is None
    ]
    if met:
        assert answer.candidates[0].number_of_changes == min(met)
        assert all(len(problem.bought(one.stacks)) <= 1 for one in answer.candidates)
    else:
        assert answer.status is Status.PROVEN_IMPOSSIBLE
