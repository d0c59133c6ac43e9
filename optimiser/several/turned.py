"""Adjusters turned besides: one change in one stack or in two, at the setting that alone comes nearest.

An adjuster costs no spanner, so a change that it spares is worth looking for. Nothing is proven by it: at
another setting others may come closer, and instead of two changes one may do.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

import numpy as np

from optimiser.model.damper_answer import DamperCandidate
from optimiser.model.open_stacks import DamperProblem
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.several.found import Found
from optimiser.several.one_change import OneChange
from optimiser.several.shares import ShareOut
from optimiser.several.sums import Sums


def met_when_turned(
    problem: DamperProblem,
    clicks: DamperCandidate,
    *,
    lists: Mapping[int, OneChange],
    shares: Iterable[ShareOut],
    metrics: GoalMetrics,
    wanted: int,
    wait: Callable[[], None],
) -> Found:
    """What meets the goal once adjusters are turned.

    Parameters
    ----------
    problem : the damper.
    clicks : the stacks as they are at the setting to try.
    lists : one change of each stack at that setting.
    shares : ways to share changes out, one change a stack.
    metrics : of the goal.
    wanted : how many are kept.
    wait : called now and then; may raise to end it.
    """
    found = Found(problem, wanted=wanted, setting=clicks.setting)
    before = np.asarray(clicks.forces)
    for share in shares:
        Sums(metrics, before, [lists[place] for place in share.places], share.places, wait).look_at(found)
    return found
