"""Events of a ride, found in the motion of one wheel by simple, stated rules.

The rules are common practice, no source. Their figures are in :class:`EventRules`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.signal import find_peaks

from optimiser.ride_log.smooth import low_passed, stretches
from optimiser.ride_log.trace import Flags, Floats, WheelMotion


class EventKind(StrEnum):
    """What happened."""

    LANDING = "landing"
    HIT = "end-of-travel hit"
    EDGE = "square edge"
    ROLLERS = "rollers"
    DIVE = "dive"


@dataclass(frozen=True, slots=True, kw_only=True)
class EventRules:
    """Figures of the rules.

    Parameters
    ----------
    air : share of the travel below which a wheel is in the air. [-]
    air_time : for at least so long. [s]
    lands_within : then it comes in. [s]
    lands_to : to at least this share of the travel. [-]
    end : share of the travel from which on its end is hit. [-]
    edge_velocity : shaft velocity that a square edge reaches. [m/s]
    edge_stroke : share of the travel that it takes. [-]
    edge_time : it takes no longer. [s]
    dive_stroke : share of the travel by which a dive comes in. [-]
    dive_times : it takes at least and at most. [s]
    dive_holds : stays in for so long. [s]
    roller_stroke : share of the travel from crest to hollow. [-]
    roller_periods : shortest and longest from one to the next. [s]
    roller_count : fewest in a row.
    rollers_alike : times as deep as the shallowest that the deepest of a row may be. [-]
    """

    air: float = 0.05
    air_time: float = 0.1
    lands_within: float = 0.25
    lands_to: float = 0.4
    end: float = 0.97
    edge_velocity: float = 0.6
    edge_stroke: float = 0.1
    edge_time: float = 0.08
    dive_stroke: float = 0.1
    dive_times: tuple[float, float] = (0.12, 0.9)
    dive_holds: float = 0.4
    roller_stroke: float = 0.12
    roller_periods: tuple[float, float] = (0.2, 1.2)
    roller_count: int = 3
    rollers_alike: float = 2.5


RULES: Final = EventRules()

SLOW: Final = 3.0
"""Of the filter that leaves what a rider does and takes away the ground; common practice, no source. [Hz]"""

GROUND: Final = 6.0
"""Of the filter that leaves rollers. [Hz]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedEvent:
    """Something that happened to one wheel.

    Parameters
    ----------
    kind : what.
    first, last : when it began and ended. [s]
    travel_from, travel_to : of the wheel, least and most in it. [m]
    shaft_velocity : the fastest compression in it. [m/s]
    air_time : before a landing; 0 for other kinds. [s]
    count : rollers in a row; 1 for other kinds.
    """

    kind: EventKind
    first: float
    last: float
    travel_from: float
    travel_to: float
    shaft_velocity: float
    air_time: float = 0.0
    count: int = 1


def find_events(motion: WheelMotion, rules: EventRules = RULES) -> list[LoggedEvent]:
    """Events in the order in which they began; a landing that hits the end of the travel is both.

    What belongs to a landing is no edge, and what belongs to a landing or to rollers no dive.

    Parameters
    ----------
    motion : of one wheel.
    rules : figures of the rules.
    """
    landings, rollers = list(_landings(motion, rules)), list(_rollers(motion, rules))
    edges = _edges(motion, rules, _samples_in(motion, landings))
    dives = _dives(motion, rules, _samples_in(motion, [*landings, *rollers]))
    found = [*landings, *rollers, *edges, *dives, *_hits(motion, rules)]
    return sorted(found, key=lambda event: event.first)


def _samples_in(motion: WheelMotion, events: Sequence[LoggedEvent]) -> Flags:
    """Samples that events take (samples,)."""
    found = np.zeros(motion.time.size, dtype=bool)
    for event in events:
        found |= (motion.time >= event.first) & (motion.time <= event.last)
    return found


def _event(kind: EventKind, motion: WheelMotion, first: int, last: int, **more: float) -> LoggedEvent:
    part = slice(first, max(last, first + 1))
    return LoggedEvent(
        kind=kind,
        first=float(motion.time[first]),
        last=float(motion.time[min(last, motion.time.size - 1)]),
        travel_from=float(motion.wheel_travel[part].min()),
        travel_to=float(motion.wheel_travel[part].max()),
        shaft_velocity=float(max(motion.shaft_velocity[part].max(), 0.0)),
        air_time=float(more.get("air_time", 0.0)),
        count=int(more.get("count", 1)),
    )


def _landings(motion: WheelMotion, rules: EventRules) -> Iterator[LoggedEvent]:
    """A stretch at full extension, then fast and deep compression."""
    rate, end = motion.rate, motion.travel_end
    in_air = motion.counted & (motion.wheel_travel < rules.air * end)
    for first, last in stretches(in_air):
        if last - first < rules.air_time * rate:
            continue
        behind = slice(last, last + int(rules.lands_within * rate))
        travel = motion.wheel_travel[behind]
        if travel.size and motion.counted[behind].all() and travel.max() >= rules.lands_to * end:
            deepest = last + int(np.argmax(travel))
            yield _event(EventKind.LANDING, motion, first, deepest + 1, air_time=(last - first) / rate)


def _hits(motion: WheelMotion, rules: EventRules) -> Iterator[LoggedEvent]:
    """The wheel at the end of its travel; touches close to one another are one."""
    before = int(0.1 * motion.rate)
    at_end = motion.counted & (motion.wheel_travel >= rules.end * motion.travel_end)
    joined: list[tuple[int, int]] = []
    for first, last in stretches(at_end):
        if joined and first - joined[-1][1] < before:
            joined[-1] = (joined[-1][0], last)
        else:
            joined.append((first, last))
    for first, last in joined:
        yield _event(EventKind.HIT, motion, max(first - before, 0), last)


def _edges(motion: WheelMotion, rules: EventRules, taken: Flags) -> Iterator[LoggedEvent]:
    """One stroke in, short and fast, that no landing explains."""
    going_in = motion.counted & (motion.wheel_velocity > 0)
    for first, last in stretches(going_in):
        fast = stretches(motion.shaft_velocity[first:last] >= rules.edge_velocity)
        if not fast or taken[first:last].any():
            continue
        # The stroke counts from where it is a tenth as fast as at its fastest.
        quick = motion.shaft_velocity[first:last] >= 0.1 * motion.shaft_velocity[first:last].max()
        begin, close = first + int(np.argmax(quick)), last - int(np.argmax(quick[::-1]))
        stroke = motion.wheel_travel[close - 1] - motion.wheel_travel[begin]
        long_enough = stroke >= rules.edge_stroke * motion.travel_end
        if long_enough and close - begin <= rules.edge_time * motion.rate:
            yield _event(EventKind.EDGE, motion, begin, close)


def _rollers(motion: WheelMotion, rules: EventRules) -> Iterator[LoggedEvent]:
    """Several strokes in and out in a row, alike in length and depth."""
    rate, end = motion.rate, motion.travel_end
    least, _ = rules.roller_periods
    for first, last in stretches(motion.counted):
        if last - first < 2 * rules.roller_count * least * rate:
            continue
        calm = _calmed(motion.wheel_travel[first:last], rate, GROUND)
        apart = max(int(least * rate), 1)
        deep, told = find_peaks(calm, prominence=rules.roller_stroke * end, distance=apart)
        for row in _rows(deep, told["prominences"], rate, rules):
            half = int(deep[row[-1]] - deep[row[0]]) // (2 * (len(row) - 1))
            begin = max(first + int(deep[row[0]]) - half, first)
            close = min(first + int(deep[row[-1]]) + half, last - 1)
            yield _event(EventKind.ROLLERS, motion, begin, close, count=len(row))


def _rows(deep: NDArray[np.intp], depths: Floats, rate: float, rules: EventRules) -> Iterator[list[int]]:
    """Hollows that follow one another at like distances and are alike in depth."""
    row: list[int] = []
    for number in range(deep.size + 1):
        if number < deep.size and _goes_on(deep[[*row, number]] / rate, depths[[*row, number]], rules):
            row.append(number)
            continue
        if len(row) >= rules.roller_count:
            yield row
        row = [number]


def _goes_on(times: Floats, depths: Floats, rules: EventRules) -> bool:
    """Whether the last of some hollows follows on those before it."""
    steps = np.diff(times)
    if steps.size and not rules.roller_periods[0] <= steps[-1] <= rules.roller_periods[1]:
        return False
    if steps.size > 1 and not 0.65 <= steps[-1] / steps[-2] <= 1.5:
        return False
    return bool(depths.max() <= rules.rollers_alike * depths.min())


def _dives(motion: WheelMotion, rules: EventRules, taken: Flags) -> Iterator[LoggedEvent]:
    """The wheel comes in slowly and stays in: braking at the front, power or a hollow at the rear."""
    rate, end = motion.rate, motion.travel_end
    shortest, longest = rules.dive_times
    for first, last in stretches(motion.counted):
        if last - first < (longest + rules.dive_holds) * rate:
            continue
        calm = _calmed(motion.wheel_travel[first:last], rate, SLOW)
        slope = np.gradient(calm, 1 / rate)
        quick = slope > 0.3 * rules.dive_stroke * end / longest
        for begin, close in stretches(quick):
            stays = calm[close : close + int(rules.dive_holds * rate)]
            stroke = calm[close - 1] - calm[begin]
            if (
                stroke >= rules.dive_stroke * end
                and shortest * rate <= close - begin <= longest * rate
                and stays.size >= int(rules.dive_holds * rate)
                and stays.min() >= calm[begin] + 0.6 * stroke
                and not taken[first + begin : first + close].any()
            ):
                yield _event(EventKind.DIVE, motion, first + begin, first + close)


def _calmed(travel: Floats, rate: float, cut_off: float) -> Floats:
    return low_passed(travel, rate=rate, cut_off=min(cut_off, 0.2 * rate))
