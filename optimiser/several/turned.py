"""Adjusters turned besides: one change in one stack, at the setting that alone comes nearest.

An adjuster costs no spanner, so a change that it spares is worth looking for. That clicks alone do not meet
the goal is proven at every setting, so one change is the fewest; of two the same could not be said, since
one might do at another setting.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from optimiser.model.damper_answer import DamperCandidate
from optimiser.model.open_stacks import DamperProblem
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.several.found import Found
from optimiser.several.one_change import OneChange
from optimiser.several.sums import Sums


def met_when_turned(
    problem: DamperProblem,
    clicks: DamperCandidate,
    *,
    lists: Mapping[int, OneChange],
    metrics: GoalMetrics,
    wanted: int,
    wait: Callable[[], None],
) -> Found:
    """What meets the goal with one change once adjusters are turned.

    Parameters
    ----------
    problem : the damper.
    clicks : the stacks as they are at the setting to try.
    lists : one change of each stack at that setting.
    metrics : of the goal.
    wanted : how many are kept.
    wait : called now and then; may raise to end it.
    """
    found = Found(problem, wanted=wanted, setting=clicks.setting)
    before = np.asarray(clicks.forces)
    for place, one in lists.items():
        Sums(metrics, before, [one], [place], wait).look_at(found)
    return found
