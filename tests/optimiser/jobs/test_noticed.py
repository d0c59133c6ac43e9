"""A complaint from one end of a machine on a damper that sits at the other is noticed, and stops nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimiser.files.job_reader import read_job
from optimiser.intake.complaint import Complaint
from optimiser.intake.job_goal import Asked
from optimiser.intake.other_end import other_end
from optimiser.jobs.felt import felt_in
from optimiser.jobs.job import Job
from optimiser.jobs.job_basics import basics_of
from optimiser.jobs.noticed import noticed_in, other_end_of
from tests.helpers.stiff_shop import lay_out


def test_an_end_is_another_only_when_both_are_known_and_differ() -> None:
    assert other_end("front", {"rear"}) is not None
    for felt, sits in (
        ("rear", {"rear"}),
        ("either", {"rear"}),
        ("front", set()),
        ("front", {"front", "rear"}),
    ):
        assert other_end(felt, sits) is None


@pytest.fixture(scope="module")
def shock_job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """Read story (a): a shock whose stroke fits the rear wheel alone."""
    folder = tmp_path_factory.mktemp("demo")
    lay_out(folder / "shop")
    return read_job(folder / "shop" / "jobs" / "a_more_support.toml")


def saying(job: Job, symptom: str | None, *, corner: str | None = None) -> Job:
    return replace(job, asked=Asked(complaint=Complaint(symptom=symptom, corner=corner)))


def test_every_symptom_of_the_front_is_noticed_on_a_rear_shock_and_no_other(shock_job: Job) -> None:
    for symptom in shock_job.vocabulary.symptoms:
        found = other_end_of(saying(shock_job, symptom.name))
        assert (found is not None) == (symptom.end == "front"), symptom.name


def test_a_corner_that_the_job_names_wins_over_the_symptoms_end(shock_job: Job) -> None:
    assert other_end_of(saying(shock_job, "dives on the brakes", corner="rear")) is None
    assert other_end_of(saying(shock_job, "wallows in long turns", corner="front")) is not None


def test_bands_alone_are_felt_anywhere(shock_job: Job) -> None:
    assert other_end_of(saying(shock_job, None)) is None


def test_a_damper_that_fits_no_wheel_or_both_is_taken_as_it_is(shock_job: Job) -> None:
    job = saying(shock_job, "dives on the brakes")
    assert other_end_of(replace(job, damper=replace(job.damper, stroke=0.3))) is None


def test_a_shock_that_no_wheel_takes_is_noticed_and_a_fork_s_cartridge_sits_at_the_front(
    shock_job: Job,
) -> None:
    job = saying(shock_job, "wallows in long turns")
    assert noticed_in(job) == ()
    shock = replace(job.damper, stroke=0.1)
    (finding,) = noticed_in(replace(job, damper=shock))
    assert (finding.what, finding.stops) == ("damper", False)
    assert finding.got == "a shock with a stroke of 100 mm"
    assert "takes: front 150 mm, rear 55 mm" in finding.expected
    (finding,) = noticed_in(replace(job, damper=replace(shock, in_a_fork=True)))
    assert finding.expected == "one that is felt at the front, where the damper of this job sits"


def test_the_finding_stops_nothing_and_says_both_ends(shock_job: Job) -> None:
    job = saying(shock_job, "dives on the brakes")
    (finding,) = noticed_in(job)
    assert (finding.stops, basics_of(job).passed) == (False, basics_of(shock_job).passed)
    assert finding in basics_of(job).findings
    assert finding.got == "one that is felt at the front"
    assert "at the rear, where the damper of this job sits" in finding.expected


def test_damping_is_felt_where_the_damper_sits(shock_job: Job) -> None:
    """By the leverage of its own wheel, not by that of the wheel that the rider speaks of."""
    place = felt_in(saying(shock_job, "dives on the brakes"))
    assert place is not None
    assert place.corner == "rear"
