"""Answers over all stacks of a damper, as a tuner reads them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from optimiser.jobs.whole_answer import folded_together
from optimiser.model.ways import way_of
from optimiser.several import solve_whole
from tests.helpers.two_stacks import SHOCK, both_in_reach, random_goal


def test_candidates_that_work_in_the_same_places_are_one_idea_and_none_is_lost() -> None:
    reach = both_in_reach(SHOCK, 1)
    problem = replace(reach.problem, goal=random_goal(np.random.default_rng(1), SHOCK, reach, kind="any"))
    candidates = solve_whole(problem, most_changes=1, wanted=20).candidates
    together = folded_together(candidates, problem)
    assert sorted(map(candidates.index, sum(together, ()))) == list(range(len(candidates)))
    assert 1 < len(together) < len(candidates)
    firsts = [candidates.index(alike[0]) for alike in together]
    assert firsts == sorted(firsts)
    for alike in together:
        first, *others = (
            [
                way_of(changes, old=old, clicks=False)
                for changes, old in zip(one.changes, problem.present, strict=True)
            ]
            for one in alike
        )
        assert all(one == first for one in others)
