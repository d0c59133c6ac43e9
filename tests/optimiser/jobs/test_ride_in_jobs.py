"""Rides in jobs: which wheel, where a band comes from, and what stands in the reasons."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from optimiser.errors import InputError
from optimiser.files.job_reader import read_job
from optimiser.intake.complaint import Complaint
from optimiser.intake.machine import AirPressure, Corner
from optimiser.intake.narrow import EventAsked
from optimiser.jobs.job import Job
from optimiser.jobs.ride_band import (
    SimulatedBand,
    band_advice,
    band_behind,
    band_of_instant,
    event_behind,
    instant_by_ride,
)
from optimiser.jobs.ride_job import RiddenStep, ride_behind, ride_job
from optimiser.jobs.ride_machine import corner_to_ride
from optimiser.jobs.setup import set_up
from optimiser.model.answer import Candidate, ChangedToo
from tests.helpers.paths import ROOT

JOBS = ROOT / "inventory_demo" / "jobs"


def _asked(name: str, *, symptom: str | None, event: EventAsked | None = None) -> Job:
    """A job of the demo shop that asks in words, or for one instant."""
    job = read_job(JOBS / name)
    complaint = Complaint(symptom=symptom, corner="rear", shift=-0.08)
    asked = dataclasses.replace(job.asked, complaint=complaint, event=event, targets=(), holds=())
    return dataclasses.replace(job, asked=asked)


def _without_spring(job: Job, instead: AirPressure | None = None) -> Job:
    def bare(corner: Corner) -> Corner:
        return dataclasses.replace(corner, spring=instead)

    machine = dataclasses.replace(job.machine, corners=tuple(map(bare, job.machine.corners)))
    return dataclasses.replace(job, machine=machine)


EDGE = EventAsked(kind="square edge", height=0.06, speed=7.0)


def test_a_cartridge_longer_than_the_travel_still_works_the_front() -> None:
    assert corner_to_ride(read_job(JOBS / "i_fork_dives.toml")).name == "front"


def test_left_and_right_alike_are_one_corner() -> None:
    assert corner_to_ride(read_job(JOBS / "j_buggy_whoops.toml")).name == "rear left"


def test_words_keep_their_band_and_hear_where_the_event_lies() -> None:
    job = _asked("h_motocross.toml", symptom="deflects off edges")
    found = band_behind(job)
    assert isinstance(found, SimulatedBand)
    advice = band_advice(job)
    assert advice is not None
    assert "Simulated on this machine, 'square edge' has 70 %" in advice
    setup = set_up(job)
    assert advice in setup.asked.reasons
    assert (setup.asked.targets[0].low, setup.asked.targets[0].high) == (0.6, 1.5)


def test_words_on_a_machine_that_is_not_known_say_what_is_missing() -> None:
    job = _without_spring(_asked("h_motocross.toml", symptom="deflects off edges"))
    assert band_behind(job) == "the spring rear"
    assert "no ride was simulated, since the spring rear is not known" in str(band_advice(job))
    assert event_behind(job) is None


def test_an_air_spring_that_is_known_by_its_pressure_alone_lacks_its_volume() -> None:
    words = _asked("h_motocross.toml", symptom="deflects off edges")
    missing = "the air volume of the spring rear (area_mm2 and volume_cm3 in the machine's file)"
    assert band_behind(_without_spring(words, AirPressure(pressure=5e5))) == missing


def test_numbers_of_a_job_win_and_nothing_is_advised() -> None:
    job = _asked("h_motocross.toml", symptom="deflects off edges")
    asked = dataclasses.replace(job.asked, complaint=dataclasses.replace(job.asked.complaint, low=0.7))
    assert band_advice(dataclasses.replace(job, asked=asked)) is None


def test_one_instant_is_simulated_and_the_formula_stands_beside_it() -> None:
    job = _asked("h_motocross.toml", symptom="deflects off edges", event=EDGE)
    ride = instant_by_ride(job)
    assert ride is not None
    assert ride.low is not None
    setup = set_up(job)
    target = setup.asked.targets[0]
    assert target.low == pytest.approx(ride.low, rel=5e-3)
    reasons = " ".join(setup.asked.reasons)
    assert "velocities by simulation: seven tenths of the damper's work in compression" in reasons
    assert "as a check, the formula gives" in reasons


def test_one_instant_on_a_machine_that_is_not_known_is_left_to_the_formula() -> None:
    job = _without_spring(_asked("h_motocross.toml", symptom="deflects off edges", event=EDGE))
    setup = set_up(job)
    assert "velocities by the formula: the spring rear is not known" in " ".join(setup.asked.reasons)
    assert setup.asked.targets[0].high > 1.5  # of a rigid wheel, not of one on a tyre


def test_a_bob_is_a_motion_of_the_wheel_and_not_ridden() -> None:
    job = read_job(JOBS / "e_one_instant.toml")
    assert band_of_instant(job, stroke="compression") is None
    assert instant_by_ride(job) is None


def test_a_job_that_does_not_tell_the_wheel_is_refused(tmp_path: Path) -> None:
    job = read_job(JOBS / "h_motocross.toml")
    corners = tuple(dataclasses.replace(one, name=f"{one.name}!") for one in job.machine.corners)
    lone = dataclasses.replace(corners[1], end="middle", leverage=corners[0].leverage)
    machine = dataclasses.replace(job.machine, corners=(*corners[1:], lone))
    damper = dataclasses.replace(job.damper, stroke=0.5)
    with pytest.raises(InputError, match="expected one of 'rear!', 'rear!'"):
        corner_to_ride(dataclasses.replace(job, machine=machine, damper=damper))


def test_without_a_ladder_only_the_damper_as_it_is_rides() -> None:
    job = _asked("h_motocross.toml", symptom="deflects off edges")
    found = ride_behind(job, ladder=(), stack_name="", settings=())
    assert found is not None
    assert [event.event.name for event in found.events] == ["square edge"]
    assert found.events[0].after == ()
    assert ride_job(job, [found.events[0].event]).events[0].before.figures == found.events[0].before.figures


def test_every_stack_that_a_step_changes_is_ridden() -> None:
    job = read_job(JOBS / "h_motocross.toml")
    own, other = job.damper.stacks[:2]
    thinner = type(other.stack)(other.stack.shims[1:])
    built = Candidate(
        stack=own.stack, setting=0, changes=(), forces=(), misfit=0.0, target_error=0.0, change_elsewhere=0.0,
        scarcity=0.0,
    )  # fmt: skip
    both = dataclasses.replace(built, others=(ChangedToo(other.name, thinner, ()),))
    event = job.rides.event("landing", kind="motocross")
    found = ride_job(
        job, [event], steps=[RiddenStep(0, built), RiddenStep(1, both)], stack_name=own.name, settings=({},)
    ).events[0]
    assert found.after[0].figures == found.before.figures
    assert found.after[1].figures != found.before.figures


def test_a_ride_that_is_not_to_go_on_tells_what_it_has() -> None:
    job = read_job(JOBS / "h_motocross.toml")
    events = list(job.rides.events_on("motocross"))[:2]
    found = ride_job(job, events, going_on=lambda event: event.name == events[0].name)
    assert [one.event.name for one in found.events] == [events[0].name]
