"""Limits as changes: what they miss is what a band's verdict misses, when nothing is drawn."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.files.job_reader import read_job
from optimiser.jobs.setup import set_up
from optimiser.model.band_result import band_result
from optimiser.spread.limits import band_limits
from tests.helpers.paths import DEMO

GOAL = set_up(read_job(DEMO / "jobs" / "j_buggy_whoops.toml")).asked.goal


@pytest.mark.parametrize("seed", range(20))
def test_a_limit_is_missed_where_the_band_is_out_of_range_and_by_as_much(seed: int) -> None:
    rng = np.random.default_rng(seed)
    changes = 0.15 * rng.standard_normal() + 0.03 * rng.standard_normal(GOAL.velocities.size)
    for limits, (window, part) in zip(band_limits(GOAL), GOAL.parts, strict=True):
        judged = band_result(window, (GOAL.before[part] * np.exp(changes[part])).tolist())
        missed = float(limits.missed_by(changes))
        assert (missed > 0) == (judged.missed_by > 0)
        assert missed == pytest.approx(judged.missed_by, rel=1e-9, abs=1e-9)
        assert np.expm1(limits.means(changes)) == pytest.approx(judged.mean)
