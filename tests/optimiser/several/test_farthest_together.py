"""How far two stacks move a band together, against trying every pair."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimiser.model.goal import Role, mean_change
from optimiser.search import Control
from optimiser.several.farthest_together import FarthestTogether
from optimiser.studies.farthest import LEAST, MOST, held_window, opened
from tests.helpers.counts import thorough_only
from tests.helpers.two_stacks import SHOCK, both_in_reach


@thorough_only("tries every pair four times; a quick run tries every pair for the fewest changes")
@pytest.mark.parametrize("tolerance", [0.03, 0.10, 0.30])
def test_the_furthest_pair_of_a_main_piston_and_an_adjuster_stack_is_that_of_trying_all(
    tolerance: float,
) -> None:
    """Both ends of both bands, the other held to 3, 10 and 30 %."""
    reach = both_in_reach(SHOCK, 2)
    before = reach.problem.goal
    windows = tuple(
        replace(
            held_window(replace(one, role=Role.HOLD)),
            lower=tuple(force * (1 - tolerance) for force in one.before),
            upper=tuple(force * (1 + tolerance) for force in one.before),
        )
        for one in before.windows
    )
    held = replace(before, windows=windows)
    problem = replace(reach.problem, goal=held)
    asked = FarthestTogether(problem, control=Control(cores=1))
    found_any = False
    for place, window in enumerate(windows):
        goal, part = opened(held, place), held.parts[place][1]
        for side in (LEAST, MOST):
            end = asked.end(place, side, known=0.0)
            shifts = [
                float(np.expm1(mean_change(window, forces[part])))
                for number, stacks, forces in reach.together
                if number == 2
                and all(new != old for new, old in zip(stacks, problem.present, strict=True))
                and (forces >= goal.lower).all()
                and (forces <= goal.upper).all()
                and problem.whole.objection(stacks, problem.setting) is None
            ]
            furthest = max([side * one for one in shifts], default=0.0)
            assert end.proven
            assert side * end.shift == pytest.approx(max(furthest, 0.0), abs=2e-6)
            found_any = found_any or end.best is not None
    assert found_any


def test_time_that_is_up_is_not_called_proven() -> None:
    problem = both_in_reach(SHOCK, 2).problem
    end = FarthestTogether(problem, control=Control(cores=1, time_limit=0.0)).end(0, MOST, known=0.1)
    assert (end.best, end.shift, end.proven) == (None, 0.1, False)
