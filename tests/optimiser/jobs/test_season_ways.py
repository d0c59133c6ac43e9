"""The ways of a job for a season: from the shelf alone, from the catalogue, and none where there is none."""

from dataclasses import replace

import pytest

from optimiser.files.job_reader import read_job
from optimiser.jobs.job import Job
from optimiser.jobs.season_ways import SeasonFinding, season_ways
from optimiser.model.stock import ShimKey
from optimiser.search import Control
from tests.helpers.paths import STIFF_SHOP

SHELF = {ShimKey(17000, 150, 8000): 1}
SOLD = (ShimKey(17000, 200, 8000), ShimKey(18000, 150, 8000))


@pytest.fixture(scope="module")
def job() -> Job:
    asked = read_job(STIFF_SHOP / "jobs" / "g_too_coarse.toml")
    target = replace(asked.asked.adjusted, shifts={"support": 0.10})
    return replace(asked, asked=replace(asked.asked, adjusted=target))


def test_ways_take_what_the_shelf_has_or_any_number_of_what_is_sold(job: Job) -> None:
    found = season_ways(job, shelf=SHELF, sold=SOLD, control=Control())
    assert found.finding is SeasonFinding.FOUND
    taken = [dict(one.taken) for one in found.options]
    assert SHELF in taken
    assert any(set(one) <= set(SOLD) for one in taken)
    assert [one.rank for one in found.options] == list(range(1, len(taken) + 1))
    assert all(one not in taken[:place] for place, one in enumerate(taken))


def test_without_a_shim_on_shelf_or_in_the_catalogue_it_is_proven_out_of_reach(job: Job) -> None:
    found = season_ways(job, shelf={}, sold=(), control=Control())
    assert (found.options, found.finding) == ((), SeasonFinding.OUT_OF_REACH)
    assert found.counted
