"""Events, usual machines and what is told: the table, rides on demo machines, and on machines drawn at random."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import pytest

from damping_model.units import STANDARD_GRAVITY
from optimiser.errors import InputError
from optimiser.files.job_reader import read_job
from optimiser.files.rides_file import OUR_OWN, read_rides
from optimiser.files.symptoms_file import read_vocabulary
from optimiser.jobs.job import Job
from optimiser.jobs.ride_machine import corner_to_ride, machine_to_ride, own_damper
from optimiser.ride.as_ridden import AsRidden, OwnDamper
from optimiser.ride.events import NEEDED, FeltLimits, RideEvent
from optimiser.ride.ridden import ridden_event
from optimiser.ride.telling import SAID, Told, changes, told
from tests.helpers.counts import some_of, tries
from tests.helpers.paths import ROOT
from tests.helpers.random_machines import ridden_at_random

JOBS = ROOT / "inventory_demo" / "jobs"
TABLE = read_rides()


@pytest.fixture(scope="module")
def job() -> Job:
    return read_job(JOBS / "h_motocross.toml")


@pytest.fixture(scope="module")
def damper(job: Job) -> OwnDamper:
    return own_damper(job, job.damper.damper)


def _machine(job: Job, damper: OwnDamper, event: RideEvent) -> AsRidden:
    return machine_to_ride(job, corner_to_ride(job), damper, event)


def _told(job: Job, damper: OwnDamper, name: str, *, height: float | None = None) -> Told:
    event = TABLE.event(name, kind=job.machine.kind)
    event = event if height is None else dataclasses.replace(event, height=height)
    bands = tuple(job.vocabulary.bands.values())
    return told(event, _machine(job, damper, event), bands=bands)


def test_every_symptom_has_an_event_behind_it_and_every_event_its_figures() -> None:
    assert {row.symptom for row in TABLE.behind} == {row.name for row in read_vocabulary().symptoms}
    for kind in TABLE.usual:
        for event in TABLE.events_on(kind):
            assert all(getattr(event, name) is not None for name in NEEDED[event.kind])
    for row in TABLE.behind:
        assert row.figure in {"back after", *SAID[TABLE.event(row.event, kind="").kind]}


@pytest.mark.parametrize("event", some_of([event.name for event in TABLE.events_on("motocross")], every=3))
def test_energy_balances_in_every_event_with_a_real_damper(job: Job, damper: OwnDamper, event: str) -> None:
    assert abs(_told(job, damper, event).imbalance) < 1e-6


def test_a_higher_fall_uses_more_travel_and_lands_at_its_own_speed(job: Job, damper: OwnDamper) -> None:
    low, high = (_told(job, damper, "landing", height=height) for height in (0.3, 0.6))
    assert high.figures.used > low.figures.used
    ratio = job.machine.corner("rear").leverage.motion_ratio(wheel_travel=high.figures.compression_at)
    fell = math.sqrt(2 * STANDARD_GRAVITY * 0.6)
    assert 0.8 * fell < high.figures.compression / ratio < 2 * fell  # the wheel comes back off its tyre


def test_more_damping_pushes_harder_on_an_edge_and_uses_less_travel(job: Job, damper: OwnDamper) -> None:
    curve = damper.damping
    firmer = dataclasses.replace(
        damper, damping=dataclasses.replace(curve, forces=tuple(1.5 * force for force in curve.forces))
    )
    soft, firm = (_told(job, one, "square edge") for one in (damper, firmer))
    assert firm.figures.hardest_push > soft.figures.hardest_push
    assert firm.figures.used < soft.figures.used


def test_shares_of_time_and_energy_are_those_of_the_ride(job: Job, damper: OwnDamper) -> None:
    one = _told(job, damper, "chatter")
    assert 0.5 < sum(use.time for use in one.figures.bands) <= 1
    assert all(use.energy >= 0 for use in one.figures.bands)
    for window in one.windows:
        inside = sum(use.energy for use in one.figures.bands if use.stroke == window.stroke)
        assert inside <= 1.01 * window.energy
        assert 0 <= window.low < window.high


def test_beyond_what_the_model_promises_is_flagged(job: Job, damper: OwnDamper) -> None:
    short = dataclasses.replace(damper, damping=dataclasses.replace(damper.damping, compression_promised=0.2))
    assert _told(job, damper, "square edge").figures.beyond_promise == 0
    assert _told(job, short, "square edge").figures.beyond_promise > 0


def test_anti_squat_keeps_the_rear_up_when_the_machine_is_driven(job: Job, damper: OwnDamper) -> None:
    event = RideEvent(
        name="driven",
        kind="driving",
        wheels=2,
        assumes="-",
        acceleration=3.0,
        rise=0.3,
        hold=1.0,
        release=0.3,
    )
    machine = _machine(job, damper, event)
    bands = tuple(job.vocabulary.bands.values())
    none, all_of_it = (
        told(event, dataclasses.replace(machine, anti_squat=share), bands=bands).figures
        for share in (0.0, 1.0)
    )
    assert none.used > 0.02
    assert all_of_it.used < 0.25 * none.used


def test_usual_figures_are_named_with_how_far_off_they_may_be(job: Job, damper: OwnDamper) -> None:
    machine = _machine(job, damper, TABLE.event("braking into a corner", kind="motocross"))
    named = {one.what: one.off for one in machine.taken}
    assert named["tyre rate rear"] == 0.35
    assert "wheelbase" not in named  # the file has it
    assert machine.corners == ("front", "rear")
    assert machine.own == 1


def test_a_difference_below_what_is_felt_is_called_none() -> None:
    one, _ = ridden_at_random(1, TABLE)
    assert one is not None
    other = dataclasses.replace(one.figures, deepest=one.figures.deepest + 1.9e-3)
    limits = FeltLimits(
        travel=2e-3, time=0.03, velocity=0.05, acceleration=1.0, tyre_load=0.03, end_force=0.2
    )
    assert not any(change.felt for change in changes("landing", one.figures, other, felt=limits))
    further = dataclasses.replace(one.figures, deepest=one.figures.deepest + 2.1e-3)
    assert any(change.felt for change in changes("landing", one.figures, further, felt=limits))


def test_machines_drawn_at_random_end_or_are_refused_with_the_reason() -> None:
    for seed in range(tries(quick=8, thorough=1000)):
        one, reason = ridden_at_random(seed, TABLE)
        if one is None:
            assert "got" in reason, (seed, reason)
        else:
            assert abs(one.imbalance) < 1e-6, seed
            assert math.isfinite(one.figures.used)


def test_an_event_that_lacks_a_number_is_refused_by_name(job: Job, damper: OwnDamper) -> None:
    event = RideEvent(name="half an edge", kind="square edge", assumes="-", height=0.05)
    with pytest.raises(InputError, match="event 'half an edge': got no speed, expected one for its kind"):
        ridden_event(event, _machine(job, damper, event))


def test_an_edge_higher_than_the_wheel_is_refused(job: Job, damper: OwnDamper) -> None:
    event = RideEvent(name="a wall", kind="square edge", assumes="-", height=1.0, speed=5.0)
    with pytest.raises(InputError, match="event 'a wall': square edge: got a height of 1000 mm"):
        ridden_event(event, _machine(job, damper, event))


def test_a_shop_changes_one_event_and_keeps_the_rest(tmp_path: Path) -> None:
    own = tmp_path / "rides.toml"
    own.write_text(
        '[[event]]\nname = "square edge"\nkind = "square edge"\nheight_mm = 55.0\nspeed_m_s = 6.0\n'
        'assumes = "the kerb behind the shop"\n',
        encoding="utf-8",
    )
    table = read_rides(own)
    assert table.event("square edge", kind="motocross").height == pytest.approx(0.055)
    assert table.event("landing", kind="motocross") == TABLE.event("landing", kind="motocross")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[[event]]\nname = "x"\nkind = "rollers"\nassumes = "abc"\nheight_mm = 5.0\n', "length"),
        ('[[behind]]\nsymptom = "dives"\nevent = "nothing"\nfigure = "swing"\nbetter = "less"\n', "nothing"),
        ("[felt]\ntravel_mm = 1.0\n", "time_s"),
        ('[[event]]\nname = "x"\nkind = "rough road"\nassumes = "abc"\nroad_class = "Q"\n', "road_class"),
    ],
)
def test_a_table_that_says_too_little_is_refused_by_field(tmp_path: Path, text: str, said: str) -> None:
    own = tmp_path / "rides.toml"
    own.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=said):
        read_rides(own)


def test_an_event_nobody_knows_is_answered_with_the_nearest() -> None:
    with pytest.raises(InputError, match=r"got event 'square egde', .* Did you mean 'square edge'"):
        TABLE.event("square egde", kind="motocross")


def test_the_table_says_that_it_has_no_source() -> None:
    assert "Common practice, no source" in OUR_OWN.read_text(encoding="utf-8")
