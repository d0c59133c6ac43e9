"""What a stack does, held against a goal together with each of what others may add."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.model.goal import Average, Goal, Role, Window
from optimiser.search.forecast import Forecast
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.several.against_sums import AgainstSums
from optimiser.several.rows import surely_outside

RNG = np.random.default_rng(11)


def goal_of(average: Average | None) -> Goal:
    """A target of four velocities and a hold of three, each within 3 %."""

    def window(role: Role, velocities: tuple[float, ...], average: Average | None) -> Window:
        before = np.array([2000 * v**0.7 for v in velocities])
        each = (before, 0.97 * before, before, 1.03 * before)
        return Window("band", role, velocities, *(tuple(one.tolist()) for one in each), average=average)

    target = window(Role.TARGET, (0.05, 0.07, 0.1, 0.14), average)
    return Goal((target, window(Role.HOLD, (0.6, 0.8, 1.0), None)), 0.0, 1.0)


@pytest.mark.parametrize(
    "average", [None, Average(-0.01, 0.0, 0.01)], ids=["at every velocity", "on average besides"]
)
def test_it_is_left_open_just_where_some_addition_may_make_up_what_is_missing(
    average: Average | None,
) -> None:
    """Against every stack with every addition, one by one, by the other code that judges them."""
    goal = goal_of(average)
    metrics = GoalMetrics(goal)
    before, size = np.asarray(goal.before), goal.velocities.size
    logs = np.log(before) + 0.05 * RNG.standard_normal((200, 1)) + 0.02 * RNG.standard_normal((200, size))
    forecast = Forecast(logs, np.abs(0.005 * RNG.standard_normal((200, size))))
    added = 0.05 * before * RNG.standard_normal((30, 1))
    silent = np.zeros(size, np.bool_)
    silent[0] = True
    sums = (added - 0.002 * before, added + 0.002 * before)
    limits = metrics.limits_within(np.inf)
    beyond = AgainstSums(metrics, limits, sums, silent, before).beyond(forecast)
    low, high = (np.where(silent, before, one) for one in forecast.forces)
    for row in range(len(logs)):
        out = surely_outside(metrics, limits, low[row] + sums[0], high[row] + sums[1])
        assert (beyond[row] < 0) == (not out.all()), row
    assert 0 < (beyond < 0).sum() < len(logs)
