"""Rides with a known truth, written as loggers spoil them, and read back: shares, events, moments.

The twins are a quarter-car of their own (tests/helpers/ride_twins.py). Sensor noise goes up to 0.2 mm, one in 700 of the travel.
"""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pytest

from optimiser.errors import InputError
from optimiser.files.symptoms_file import read_vocabulary
from optimiser.ride_log.events import EventKind, LoggedEvent, find_events
from optimiser.ride_log.moment import moment_of
from optimiser.ride_log.motion import motion_of
from optimiser.ride_log.shares import shares
from optimiser.ride_log.trace import Trace, WheelMotion
from tests.helpers.counts import tries
from tests.helpers.ride_twins import FORK, SHOCK, STEP, Logged, LoggerTraits, Placed, Ride, logged, ride

BANDS = tuple(read_vocabulary().bands.values())
COUNT = tries(quick=2, thorough=40)
NAMED = {
    "edge": EventKind.EDGE,
    "rollers": EventKind.ROLLERS,
    "dive": EventKind.DIVE,
    "landing": EventKind.LANDING,
    "hit": EventKind.HIT,
}


def spoiled(seed: int) -> tuple[Ride, Logged, WheelMotion]:
    """A ride, what a logger made of it, and what was read of that."""
    rng = np.random.default_rng(1000 + seed)
    wheel = (FORK, SHOCK)[seed % 2]
    truth = ride(wheel, seed=seed, roughness=rng.uniform(0.6, 2.5))
    traits = LoggerTraits(
        rate=float(rng.choice([200, 250, 333, 500, 1000])),
        noise=rng.uniform(0.00005, 0.0002),
        offset=rng.uniform(-0.012, 0.012),
        slope=rng.uniform(-1e-4, 1e-4),
        spikes=int(rng.integers(0, 30)),
        gaps=int(rng.integers(0, 4)),
        jitter=rng.uniform(0, 0.5),
    )
    log = logged(truth, traits=traits, seed=seed)
    trace = Trace(corner="rear", source="log.csv", time=log.time, travel=log.travel)
    return truth, log, motion_of(trace, wheel.leverage)


@pytest.fixture(scope="module")
def rides() -> list[tuple[Ride, Logged, WheelMotion]]:
    return [spoiled(seed) for seed in range(COUNT)]


def test_the_share_of_time_of_every_band_is_right_within_one_point(
    rides: list[tuple[Ride, Logged, WheelMotion]],
) -> None:
    worst = 0.0
    for truth, log, motion in rides:
        known = truth.motion
        kept = np.ones(known.time.size, dtype=bool)
        for first, last in log.lost:
            kept &= (known.time < first) | (known.time > last)
        for right, read in zip(shares(known, BANDS, among=kept), shares(motion, BANDS), strict=True):
            assert (right.band, right.stroke) == (read.band, read.stroke)
            worst = max(worst, abs(right.time - read.time))
    print(f"{len(rides)} rides, shares of time off by at most {100 * worst:.2f} points")  # noqa: T201 (shown with -s)
    assert worst <= 0.01


def in_gap(event: Placed, log: Logged) -> bool:
    return any(first < event.end + 0.1 and last > event.start - 0.1 for first, last in log.lost)


def is_about(found: LoggedEvent, event: Placed) -> bool:
    return (
        found.kind is NAMED[event.kind] and found.first < event.end + 0.2 and found.last > event.start - 0.2
    )


def test_nine_of_ten_events_are_found_and_each_kind_for_itself(
    rides: list[tuple[Ride, Logged, WheelMotion]],
) -> None:
    there, seen, listed = Counter[str](), Counter[str](), 0
    for truth, log, motion in rides:
        events = find_events(motion)
        listed += len(events)
        for event in truth.events():
            if not in_gap(event, log):
                there[event.kind] += 1
                seen[event.kind] += any(is_about(found, event) for found in events)
    print(f"found {dict(seen)} of {dict(there)}; {listed} events are listed in all")  # noqa: T201 (shown with -s)
    assert seen.total() >= 0.9 * there.total()
    assert all(seen[kind] >= 0.85 * count for kind, count in there.items() if count >= 20)


def test_most_of_what_is_listed_is_something_that_happened(
    rides: list[tuple[Ride, Logged, WheelMotion]],
) -> None:
    """An edge of rough ground is one, and a ramp is a dive; a flight of any length is a landing."""
    listed = wrong = 0
    for truth, _, motion in rides:
        happened = truth.events()
        flights = np.flatnonzero(~truth.grounded) * STEP
        ramps = [one for one in truth.placed if one.kind in {"ramp", "rollers", "edge", "jump"}]
        for found in find_events(motion):
            listed += 1
            alike = any(is_about(found, event) for event in happened)
            if found.kind is EventKind.LANDING:
                alike |= bool(((flights > found.first) & (flights < found.last)).any())
            if found.kind is EventKind.DIVE:
                alike |= any(one.start < found.last and one.end > found.first for one in ramps)
            if found.kind is EventKind.HIT:
                alike |= found.travel_to > 0.97 * motion.travel_end
            wrong += not alike
    print(f"{wrong} of {listed} listed events are none that the road or the rider made")  # noqa: T201 (shown with -s)
    assert wrong <= 0.2 * listed


def test_nine_of_ten_named_moments_give_the_band_of_the_true_motion(
    rides: list[tuple[Ride, Logged, WheelMotion]],
) -> None:
    """Right is the stroke, and both ends of the band within 15 %."""
    asked = right = 0
    for truth, log, motion in rides:
        known = truth.motion
        for event in truth.events():
            if in_gap(event, log):
                continue
            first, last = event.start - 0.05, event.end + 0.1
            read, true = moment_of(motion, first, last), moment_of(known, first, last)
            ends = (math.log(read.low / true.low), math.log(read.high / true.high))
            asked += 1
            right += read.stroke == true.stroke and max(map(abs, ends)) <= math.log(1.15)
    print(f"{right} of {asked} moments have the right band")  # noqa: T201 (shown with -s)
    assert right >= 0.9 * asked


def test_a_zero_that_wanders_is_followed_from_flight_to_flight() -> None:
    truth = ride(SHOCK, seed=5, length=60.0)
    log = logged(truth, traits=LoggerTraits(slope=1e-4, offset=0.004), seed=1)
    motion = motion_of(
        Trace(corner="rear", source="log.csv", time=log.time, travel=log.travel), SHOCK.leverage
    )
    off = np.interp(motion.time, truth.time, truth.travel) - motion.wheel_travel
    assert np.abs(np.median(off[:10_000])) < 0.0015
    assert np.abs(np.median(off[-10_000:])) < 0.0015
    assert any("wanders" in note for note in motion.notes)


def test_a_ride_read_upside_down_is_refused() -> None:
    truth = ride(SHOCK, seed=5, length=15.0)
    log = logged(truth, traits=LoggerTraits(), seed=1)
    trace = Trace(corner="rear", source="log.csv", time=log.time, travel=0.145 - log.travel)
    with pytest.raises(InputError, match="counts backwards"):
        motion_of(trace, SHOCK.leverage)
