"""How long a command waits, and what it says meanwhile and afterwards."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from optimiser.jobs.job import SEARCH_TIME, WorkOptions
from optimiser.jobs.way_out import seeking_way_out
from optimiser.report.progress_words import progress_words
from optimiser.search.control import Control, Missed, Phase, Progress
from tests.helpers.command_line import Typed

JOB = "jobs/d_out_of_reach.toml"


@pytest.mark.parametrize(
    ("asked", "own", "found"),
    [
        (None, None, SEARCH_TIME),
        (None, 5.0, 5.0),
        (7.0, 5.0, 7.0),
        (0.0, 5.0, math.inf),
        (0.0, None, math.inf),
    ],
)
def test_what_is_typed_comes_before_the_job_s_own_and_that_before_the_usual(
    asked: float | None, own: float | None, found: float
) -> None:
    assert WorkOptions(time_limit=own).patience(asked) == found


def test_a_plan_that_time_ended_says_how_to_let_it_go_on(shop: Path, typed: Typed) -> None:
    seen = typed("plan", JOB, "--time-limit", "0.2")
    words = " ".join(seen.out.split())
    assert "Not proven: time ran out" in words
    assert f"To let it go on to the end: shimwright plan {JOB} --time-limit 0" in words
    assert (shop / JOB).exists()


def test_progress_counts_stacks_ruled_out_and_says_how_far_off_the_best_is() -> None:
    searching = Progress(2, 40, 300, 9000, 0, 1, 12480, Missed("mid speed", 0.0061))
    assert progress_words(searching) == (
        "2 changes: 12,480 stacks checked; the best so far misses 'mid speed' by 0.61 points; 1 too few, proven"
    )
    found = Progress(1, 4, 30, 900, 3, 0, 50)
    assert progress_words(found) == (
        "1 change: 50 stacks checked; 3 that do found so far; clicks alone proven not to do"
    )


def test_once_the_verdict_stands_progress_says_so_first_and_what_is_looked_for_now() -> None:
    closest = Progress(2, 9, 300, 9000, 0, 2, 12480, Missed("mid speed", 0.0061), Phase.CLOSEST)
    assert progress_words(closest) == (
        "2 too few, proven; looking for the stack that comes closest: 12,480 stacks checked; "
        "the best so far misses 'mid speed' by 0.61 points"
    )
    told: list[str] = []
    control: Control[Progress] = Control(progress=lambda now: told.append(progress_words(now)))
    within = Progress(1, 4, 30, 900, 0, 0, 50)
    seeking_way_out(control, 2).report(within)
    assert told == ["2 too few, proven; looking for a way out: 50 stacks checked"]
    seeking_way_out(control, -1).report(within)
    assert told[1:] == ["looking for a way out: 50 stacks checked"]
