"""What the wheel does with an answer: kept with the search, shown without any physics."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimiser.actions.ride_of_plan import events_to_ride, ride_plan
from optimiser.bench.search_folder import SearchAsked, seen_of
from optimiser.bench.search_process import search
from optimiser.bench.wheel_kept import ridden
from optimiser.jobs.ride_job import ride_job, steps_to_ride
from optimiser.ride.events import RideEvent
from tests.helpers.bench_client import BenchClient
from tests.helpers.counts import thorough_only
from tests.helpers.known_plans import KnownPlans
from tests.helpers.paths import DEMO


@thorough_only("plans a job and rides ten events with all that it lists")
@pytest.mark.usefixtures("plans_once")
def test_the_answer_says_and_draws_what_the_wheel_does_with_each_candidate(worker: BenchClient) -> None:
    path = worker.shop / "jobs" / "i_fork_dives.toml"
    folder = worker.searches.of("i_fork_dives")
    asked = SearchAsked(job=path, seen=seen_of(path))
    folder.begin(asked)
    search(folder, asked)
    kept = folder.wheel()
    assert kept is not None
    page = worker.get("/jobs/i_fork_dives/answer").text
    assert "braking into a corner (4.5 m/s²)" in page
    assert page.count('class="force wheel"') == 1 + len(folder.plan().candidates)
    words = kept.words["metric"]
    assert [one.partition(":")[0] for one in words.rungs] == ["clickers only", "1 change"]
    assert all(one.first in page for one in words.candidates)
    assert "dives 3 mm less of 56 mm" in words.candidates[0].first, "what 'shimwright ride' prints of it"
    (folder.path / "wheel.json").write_text(
        '{"format": "shimwright wheel 1", "rungs": [7]}', encoding="utf-8"
    )
    assert "What the wheel does" not in worker.get("/jobs/i_fork_dives/answer").text, "spoiled on the disk"


def test_a_stack_that_is_a_step_and_a_candidate_is_ridden_once(known_plans: KnownPlans) -> None:
    planned = known_plans.of(DEMO, "a_more_support")
    seen: list[str] = []

    def first_alone(event: RideEvent) -> bool:
        seen.append(event.name)
        return len(seen) < 2

    found = ride_plan(planned, going_on=first_alone)
    built = [(step.built.stack, step.built.setting) for step in found.ride.steps]
    assert len(set(built)) == len(built)
    assert [built[place] for place in found.rungs] == [
        (step.best.stack, step.best.setting) for step in planned.ladder
    ]
    assert planned.answer is not None
    assert [built[place] for place in found.candidates] == [
        (one.stack, one.setting) for one in planned.answer.candidates
    ]
    assert [event.event.name for event in found.ride.events] == ["braking into a corner"]
    step_by_step = ride_job(
        planned.job,
        [found.ride.events[0].event],
        steps=steps_to_ride(planned.ladder),
        stack_name=planned.mounted.name,
        settings=planned.settings,
    )
    for place, told in zip(found.rungs, step_by_step.events[0].after, strict=True):
        assert found.ride.events[0].after[place].figures == told.figures


def test_where_no_ride_is_possible_it_is_said_what_is_missing(known_plans: KnownPlans) -> None:
    planned = known_plans.of(DEMO, "a_more_support")
    unknown = replace(planned.job, rides=replace(planned.job.rides, usual={}))
    kept = ridden(replace(planned, job=unknown), tell=lambda _: None, should_stop=lambda: False)
    assert kept is not None
    assert "expected" in kept.unknown
    assert not kept.words


def test_a_search_that_is_to_stop_rides_the_first_event_alone(known_plans: KnownPlans) -> None:
    planned = known_plans.of(DEMO, "a_more_support")
    told: list[str] = []
    kept = ridden(planned, tell=told.append, should_stop=lambda: True)
    assert kept is not None
    assert told == [f"riding: {events_to_ride(planned.job)[0].name}"]
    assert all(not one.felt for one in kept.words["metric"].candidates)
