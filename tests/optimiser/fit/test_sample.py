"""What of dyno runs a fit uses, and what errors it takes them to share."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimiser.dyno.run import Branch, DynoRun
from optimiser.errors import InputError
from optimiser.files.damper_builder import read_typed_damper
from optimiser.fit.observed import RUN_TO_RUN, UNREAD_TEMPERATURE
from optimiser.fit.sample import sample_of
from tests.helpers.dyno_twins import gas_of, table_run
from tests.helpers.paths import STIFF_SHOP

DAMPER = read_typed_damper(STIFF_SHOP / "dampers" / "dunnock_shock.toml").damper
RUN = table_run(DAMPER, seed=1)


def left_out(run: DynoRun) -> list[tuple[int, str]]:
    return [(one.points, one.why) for one in sample_of(DAMPER, [run]).left_out]


def test_damping_is_what_is_left_without_gas_and_friction() -> None:
    stretch = sample_of(DAMPER, [RUN]).stretches[0]
    expected = [abs(RUN.damping_force(point)) for point in stretch.points]
    assert stretch.damping == pytest.approx(expected)


def test_gas_and_friction_that_no_run_split_off_are_taken_from_the_damper_s_file() -> None:
    whole = replace(RUN, gas=None, friction=None, gas_pressure=None)
    stretch = sample_of(DAMPER, [whole]).stretches[0]
    point = stretch.points[-1]
    assert stretch.damping[-1] == pytest.approx(point.force - gas_of(DAMPER) - DAMPER.friction)
    # known worse than where a run showed them
    assert np.abs(stretch.shared[0]).max() > np.abs(sample_of(DAMPER, [RUN]).stretches[0].shared[0]).max()


def test_points_off_the_peak_are_left_out() -> None:
    points = (replace(RUN.points[0], branch=Branch.SLOWING_DOWN), *RUN.points[1:])
    assert left_out(replace(RUN, points=points)) == [(1, "they are off the peak of velocity, and lag")]


def test_points_whose_damping_drowns_in_gas_and_friction_are_left_out() -> None:
    assert RUN.friction is not None
    unsure = replace(RUN, friction=replace(RUN.friction, plus_minus=150.0))
    [(points, why)] = left_out(unsure)
    assert points >= 2
    assert "hardly more than" in why


def test_too_few_points_are_refused_with_the_reason() -> None:
    with pytest.raises(InputError, match=r"got 2 points of 1 runs to fit to, expected at least 4"):
        sample_of(DAMPER, [replace(RUN, points=RUN.points[:2])])


def test_a_run_s_points_share_its_error_and_runs_do_not() -> None:
    assert RUN.gas is not None
    assert RUN.friction is not None
    other = replace(
        RUN,
        temperature=None,
        gas=replace(RUN.gas, how="another slow run"),
        friction=replace(RUN.friction, how="another slow run"),
    )
    sample = sample_of(DAMPER, [RUN, other])
    still = np.zeros(sample.velocities.size)
    covariance = sample.covariance(still)
    count = len(RUN.points)
    assert covariance[-1, -2] == pytest.approx(RUN_TO_RUN**2, rel=0.1)
    assert not covariance[:count, count:].any()
    warm = sample.covariance(np.full(still.size, -0.01))
    assert warm[-1, -2] - covariance[-1, -2] == pytest.approx((0.01 * UNREAD_TEMPERATURE) ** 2)


def test_gas_and_friction_of_one_slow_run_are_one_error_and_one_measurement_for_all_runs_of_a_session() -> (
    None
):
    sample = sample_of(DAMPER, [RUN, RUN, RUN])
    covariance = sample.covariance(np.zeros(sample.velocities.size))
    count = len(RUN.points)
    row = sample.stretches[0].shared
    assert covariance[0, count] == pytest.approx(row[0, 0] ** 2 + row[1, 0] ** 2)
    assert len(sample.direct) == 2


def test_friction_and_gas_that_a_run_shows_are_compared_with_the_file() -> None:
    assert RUN.friction is not None
    more = replace(RUN, friction=replace(RUN.friction, force=2 * DAMPER.friction))
    direct = {one.figure: one.logarithm for one in sample_of(DAMPER, [more]).direct}
    assert direct["friction"] == pytest.approx(np.log(2))
    assert direct["gas_pressure"] == pytest.approx(0, abs=1e-9)
    other_fill = replace(RUN, gas_pressure=0.5 * DAMPER.gas_pressure)
    assert [one.figure for one in sample_of(DAMPER, [other_fill]).direct] == ["friction"]
