"""What a ride tells: how far, how fast, how long, how hard, in figures that a rider's words are made of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.ride.ride_motion import RideMotion
from damping_model.units import STANDARD_GRAVITY
from optimiser.intake.bands import SIGN, Stroke
from optimiser.intake.complaint import NamedBand
from optimiser.intake.goal_builder import BOTH_STROKES
from optimiser.ride.as_ridden import AsRidden
from optimiser.ride.events import FigureName
from optimiser.ride.ridden import RiddenEvent

Floats = NDArray[np.float64]

SETTLED: Final = (0.05, 2e-3)
"""Within this share of how far it went, or so far, of where it rests; common practice, no source. [-], [m]"""

BACK: Final = 0.2
"""Share of how far it went that is left when it counts as back; common practice, no source. [-]"""

RESTLESS: Final = frozenset(["rough road", "pedalling"])
"""Kinds of events in which nothing settles."""


@dataclass(frozen=True, slots=True)
class BandUse:
    """How much of a ride lies in a band.

    Parameters
    ----------
    stroke, band : which.
    time : share of the ride. [-]
    energy : that the damper takes there. [J]
    """

    stroke: Stroke
    band: str
    time: float
    energy: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RideFigures:
    """One corner in one event.

    Parameters
    ----------
    rest : wheel travel before the event. [m]
    deepest, shallowest : wheel travel at most and at least. [m]
    travel : all there is. [m]
    settles_after : from the end of the event until it stays where it rests; None where nothing settles. [s]
    back_after : from the deepest place until most of the way back is done; None where it never is. [s]
    swing : from the deepest to the shallowest place, late in the event. [m]
    sinks_in : how far deeper than at rest it is on average, late in the event. [m]
    compression, rebound : fastest shaft velocity of each stroke, both positive. [m/s]
    compression_at, rebound_at : wheel travel at which that is. [m]
    bands : time and energy by band.
    least_tyre_load, tyre_load_spread : as shares of the load at rest; spread as standard deviation. [-]
    in_the_air : how long the tyre carries nothing. [s]
    acceleration : of the body above the wheel, root mean square during the event. [m/s^2]
    hardest_push : upwards, of the body above the wheel, at most. [m/s^2]
    end_force : of end-of-travel springs at most, in loads at rest. [-]
    end_speed : of the wheel when it meets them; 0 where it does not. [m/s]
    beyond_promise : how long the shaft is faster than the model promises figures for. [s]
    """

    rest: float
    deepest: float
    shallowest: float
    travel: float
    settles_after: float | None
    back_after: float | None
    swing: float
    sinks_in: float
    compression: float
    compression_at: float
    rebound: float
    rebound_at: float
    bands: tuple[BandUse, ...]
    least_tyre_load: float
    tyre_load_spread: float
    in_the_air: float
    acceleration: float
    hardest_push: float
    end_force: float
    end_speed: float
    beyond_promise: float

    @property
    def used(self) -> float:
        """Travel used beyond that at rest. [m]"""
        return self.deepest - self.rest

    @property
    def left(self) -> float:
        """Travel left at the deepest place; below 0 where the end gives way. [m]"""
        return self.travel - self.deepest

    def of(self, name: FigureName) -> float | None:
        """A figure by its name in the table of rides; None where the event has none."""
        return self.named()[name]

    def named(self) -> Mapping[FigureName, float | None]:
        """Every figure that an event may be judged by, in SI."""
        return {
            "travel used": self.used,
            "settles after": self.settles_after,
            "back after": self.back_after,
            "swing": self.swing,
            "sinks in": self.sinks_in,
            "fastest compression": self.compression,
            "fastest rebound": self.rebound,
            "least tyre load": self.least_tyre_load,
            "spread of tyre load": self.tyre_load_spread,
            "acceleration": self.acceleration,
            "hardest push": self.hardest_push,
            "end force": self.end_force,
        }


def figures_of(
    motion: RideMotion, ready: RiddenEvent, on: AsRidden, *, bands: Sequence[NamedBand]
) -> RideFigures:
    """What a ride tells of the corner that is looked at.

    Parameters
    ----------
    motion : the ride.
    ready : the event.
    on : the machine.
    bands : of shaft velocity, for time and energy.
    """
    own = on.own
    times, travel, shaft = motion.times, motion.travel(own), motion.shaft_velocity(own)
    rest = motion.tables[own].rest(on.machine.body.shares[own] * STANDARD_GRAVITY)
    begun = times >= (ready.ends if ready.start.fall is not None else 0.0)
    deep = int(np.argmax(np.where(begun, travel, -np.inf)))
    late = (times > 0.5 * ready.ends) & (times <= ready.ends) if ready.start.fall is None else begun
    eventful = begun & (times <= ready.ends + 0.3)
    tyre = motion.tyre_force(own) / motion.static_tyre_force(own)
    stop = np.maximum(motion.stop_force(own), 0.0)
    met = np.flatnonzero((stop[1:] > 0) & (stop[:-1] <= 0))
    fast, slow = int(np.argmax(shaft)), int(np.argmin(shaft))
    body = motion.body_acceleration(own)
    curve = on.machine.corners[own].damping
    beyond = (shaft > curve.compression_promised) | (-shaft > curve.rebound_promised)
    step = float(times[1] - times[0])
    return RideFigures(
        rest=rest,
        deepest=float(travel[deep]),
        shallowest=float(travel[begun].min()),
        travel=motion.tables[own].travel,
        settles_after=_settles(times, travel, ready) if ready.event.kind not in RESTLESS else None,
        back_after=_back(times[deep:], travel[deep:], rest),
        swing=float(np.ptp(travel[late])),
        sinks_in=float(travel[late].mean()) - rest,
        compression=max(float(shaft[fast]), 0.0),
        compression_at=float(travel[fast]),
        rebound=max(-float(shaft[slow]), 0.0),
        rebound_at=float(travel[slow]),
        bands=tuple(_by_band(shaft, _power(motion, own), step, bands)),
        least_tyre_load=float(tyre[eventful].min()),
        tyre_load_spread=float(tyre[eventful].std()),
        in_the_air=step * float(np.count_nonzero(tyre[begun] <= 0)),
        acceleration=float(np.sqrt(np.mean(body[eventful] ** 2))),
        hardest_push=float(body[begun].max()),
        end_force=float(stop.max()) / (on.machine.body.shares[own] * STANDARD_GRAVITY),
        end_speed=max(float(motion.wheel_velocity(own)[met + 1].max(initial=0.0)), 0.0),
        beyond_promise=step * float(np.count_nonzero(beyond)),
    )


def _power(motion: RideMotion, own: int) -> Floats:
    """What the damper takes (times,). [W]"""
    return motion.damper_force(own) * motion.wheel_velocity(own)


def _settles(times: Floats, travel: Floats, ready: RiddenEvent) -> float | None:
    """From the end of the event until the travel stays near where it ends."""
    final = travel[-1]
    near = max(SETTLED[0] * float(np.abs(travel - final).max()), SETTLED[1])
    away = np.flatnonzero(np.abs(travel - final) > near)
    if away.size and away[-1] > travel.size - 50:
        return None
    return max(float(times[away[-1]]) - ready.ends, 0.0) if away.size else 0.0


def _back(times: Floats, travel: Floats, rest: float) -> float | None:
    """From the deepest place until a fifth of the way is left."""
    back = np.flatnonzero(travel <= rest + BACK * (travel[0] - rest))
    return float(times[back[0]] - times[0]) if back.size else None


def _by_band(shaft: Floats, power: Floats, step: float, bands: Sequence[NamedBand]) -> list[BandUse]:
    found = []
    for stroke in BOTH_STROKES:
        speed = SIGN[stroke] * shaft
        for band in bands:
            inside = (speed >= band.low) & (speed < band.high)
            found.append(BandUse(stroke, band.name, float(inside.mean()), step * float(power[inside].sum())))
    return found
