"""Jobs in words: what the table is made of, and rows of it planned."""

import re
from collections import Counter
from pathlib import Path

import pytest

from optimiser.files.job_reader import read_job
from optimiser.files.shop_folder import TRUSTED
from optimiser.files.symptoms_file import read_vocabulary
from optimiser.intake.complaint import Symptom
from optimiser.jobs.setup import stack_to_change
from tests.benchmarks.words.fleet import FLEET, RiddenDamper, job_text, jobs
from tests.benchmarks.words.page import PAGE, TABLE, page, sums
from tests.benchmarks.words.rows import AnsweredJob, Ending, planned_row
from tests.helpers.counts import some_of

JOBS = list(jobs(read_vocabulary()))
TEASEL = [job for job in JOBS if job[0].name == "teasel"]


@pytest.fixture(autouse=True)
def trusted(monkeypatch: pytest.MonkeyPatch) -> None:
    """The jobs are written elsewhere than the shops of their dampers."""
    monkeypatch.setenv(TRUSTED, "1")


def row(verdict: Ending, *, by_clicks: bool = False, in_the_way: str = "") -> AnsweredJob:
    return AnsweredJob(
        damper="teasel",
        symptom="slow to come back",
        effort="1 change",
        by_clicks=by_clicks,
        verdict=verdict,
        proven=True,
        target="-9.0 % (-10 to -8)",
        seconds=2.0,
        in_the_way=in_the_way,
    )


def test_every_row_of_the_table_is_asked_of_every_damper_of_its_end() -> None:
    ends = Counter(ride.end for ride in FLEET)
    rows = Counter(symptom.end for symptom in read_vocabulary().symptoms)
    assert len(JOBS) == sum(count * (rows[end] + rows["either"]) for end, count in ends.items())


@pytest.mark.parametrize(("ride", "symptom"), JOBS, ids=lambda part: part.name)
def test_a_job_in_words_names_a_stack_of_its_damper_and_can_be_read(
    ride: RiddenDamper, symptom: Symptom, tmp_path: Path
) -> None:
    path = tmp_path / "job.toml"
    path.write_text(job_text(ride, symptom), encoding="utf-8")
    job = read_job(path)
    assert job.asked.complaint.symptom == symptom.name
    assert stack_to_change(job).name in {ride.compression, ride.rebound}


@pytest.mark.usefixtures("without_draws")
@pytest.mark.parametrize(("ride", "symptom"), some_of(TEASEL, every=12), ids=lambda part: part.name)
def test_a_small_dampers_rows_end_in_time_with_an_answer_or_with_what_stands_in_the_way(
    ride: RiddenDamper, symptom: Symptom, tmp_path: Path
) -> None:
    answered = planned_row(ride, symptom, folder=tmp_path, time_limit=30.0)
    assert answered.verdict is not Ending.REFUSED
    assert answered.seconds < 45
    assert answered.effort not in {"", "none", "nothing"}
    assert (answered.in_the_way == "") == (answered.verdict is Ending.MET)
    if answered.verdict is not Ending.NOT_MET:
        # the target goes the right way, and by more than a third of what was asked
        average = float(answered.target.partition(" %")[0]) / 100
        assert average / symptom.shift > 1 / 3


def test_the_sums_count_each_ending_once() -> None:
    rows = [
        row(Ending.MET, by_clicks=True),
        row(Ending.MET),
        row(Ending.AT_THE_EDGE, in_the_way="'mid speed' out by 0.2 points"),
        row(Ending.NEAR_ENOUGH, in_the_way="'mid speed' out by 0.9 points"),
        row(Ending.NOT_MET, in_the_way="'mid speed' out by 3 points"),
    ]
    assert sums(rows).startswith("5 jobs: 2 met, 1 at the edge")
    assert "1 near enough" in sums(rows)
    assert "1 not met, 0 refused. Of the 4 that were answered 1 take clicks alone." in sums(rows)


def test_a_page_says_what_stands_in_the_way_of_every_row_that_is_not_met() -> None:
    text = page(
        [row(Ending.MET), row(Ending.NOT_MET, in_the_way="'mid speed' out by 3 points")],
        time_limit=30.0,
        when="today",
        beside="",
    )
    assert "- **teasel, slow to come back** (not met): 'mid speed' out by 3 points." in text


def test_the_page_holds_every_job_that_would_be_asked_now_and_its_sums_are_those_of_its_rows() -> None:
    lines = [line for line in PAGE.read_text(encoding="utf-8").splitlines() if line.startswith("| ")]
    cells = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]
    assert tuple(cells[0]) == TABLE
    assert [tuple(one[:2]) for one in cells[2:]] == [(ride.name, symptom.name) for ride, symptom in JOBS]
    endings = Counter(one[4] for one in cells[2:])
    said = re.search(
        r"(\d+) jobs: (\d+) met, (\d+) at the edge .*?, (\d+) near enough .*?, (\d+) not met, (\d+) refused",
        PAGE.read_text(),
    )
    assert said is not None
    assert [int(number) for number in said.groups()] == [
        len(JOBS), *(endings[ending.value] for ending in Ending)
    ]  # fmt: skip
