"""Rides with a known truth: one wheel of a machine over a made road, written as a logger would write it.

Equations of a quarter-car as in any text on vehicle dynamics, with a tyre that leaves the ground, stops at both ends and a
damper of two slopes a stroke; stepped by the semi-implicit method of Euler.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from damping_model.vehicle.leverage import LeverageCurve
from optimiser.ride_log.smooth import stretches
from optimiser.ride_log.trace import Linkage, WheelMotion

Floats = NDArray[np.float64]
Kind = Literal["edge", "rollers", "jump", "dive", "ramp", "landing", "hit"]

STEP = 5e-4
"""Of the integration. [s]"""

GRAVITY = 9.80665


@dataclass(frozen=True)
class Wheel:
    """One wheel of a machine.

    Parameters
    ----------
    leverage : its linkage.
    sprung, unsprung : masses. [kg]
    rate, preload : of the spring, at the wheel. [N/m], [N]
    tyre : its stiffness. [N/m]
    slopes : of damping at the shaft: compression below and above its knee, rebound likewise. [N s/m]
    knee : shaft velocity of both knees. [m/s]
    """

    leverage: LeverageCurve
    sprung: float = 40.0
    unsprung: float = 4.0
    rate: float = 8000.0
    preload: float = 120.0
    tyre: float = 90e3
    slopes: tuple[float, float, float, float] = (4500.0, 1600.0, 7000.0, 3200.0)
    knee: float = 0.12


@dataclass(frozen=True)
class Placed:
    """An event that the road or the rider makes.

    Parameters
    ----------
    kind : what it is; a jump has a ramp in front, and landings and hits are what come of it.
    start, end : when the wheel meets it. [s]
    """

    kind: Kind
    start: float
    end: float


@dataclass(frozen=True)
class Ride:
    """What truly happened.

    Parameters
    ----------
    wheel : whose ride.
    time, travel : of the wheel, at every step (steps,). [s], [m]
    grounded : whether the tyre touches the ground at every step (steps,).
    placed : events, in order.
    """

    wheel: Wheel
    time: Floats
    travel: Floats
    grounded: NDArray[np.bool_]
    placed: tuple[Placed, ...]

    @property
    def shaft_velocity(self) -> Floats:
        """Of the damper, from the travel at every step (steps,). [m/s]"""
        shaft = self.wheel.leverage.shaft_travel(
            wheel_travel=np.clip(self.travel, 0.0, self.wheel.leverage.wheel_travel_end)
        )
        return np.gradient(shaft, self.time)

    @property
    def motion(self) -> WheelMotion:
        """The ride as a treatment without error would give it."""
        curve = self.wheel.leverage
        inside = np.clip(self.travel, 0.0, curve.wheel_travel_end)
        return WheelMotion(
            corner="rear",
            rate=1 / STEP,
            cut_off=1 / STEP,
            time=self.time,
            wheel_travel=self.travel,
            shaft_travel=curve.shaft_travel(wheel_travel=inside),
            wheel_velocity=np.gradient(self.travel, self.time),
            shaft_velocity=self.shaft_velocity,
            counted=np.ones(self.time.size, dtype=bool),
            linkage=Linkage(leverage=curve),
            notes=(),
        )

    def events(self) -> list[Placed]:
        """What truly happened: what the road and the rider did, flights of the tyre, hits of the end."""
        found = [one for one in self.placed if one.kind in {"edge", "rollers", "dive"}]
        rollers = [one for one in found if one.kind == "rollers"]
        end = self.wheel.leverage.wheel_travel_end
        for first, last in stretches(~self.grounded):
            deep = self.travel[last : last + int(0.25 / STEP)].max() > 0.4 * end
            on_rollers = any(one.start < last * STEP < one.end + 0.3 for one in rollers)
            if last - first > 0.15 / STEP and deep and not on_rollers:
                found.append(Placed("landing", first * STEP, last * STEP + 0.1))
        touched = -1.0
        for first, last in stretches(self.travel > 0.985 * end):
            if first * STEP - touched > 0.1:
                found.append(Placed("hit", first * STEP - 0.05, last * STEP))
            touched = last * STEP
        return found


FORK = Wheel(LeverageCurve.fork(travel=0.15), sprung=32.0, rate=6500.0, slopes=(900.0, 350.0, 1500.0, 700.0))
SHOCK = Wheel(
    LeverageCurve.from_leverage_ratio(
        wheel=[0, 0.035, 0.07, 0.105, 0.14], leverage_ratio=[2.88, 2.72, 2.545, 2.395, 2.275]
    ),
    sprung=48.0,
    rate=11_000.0,
)


@dataclass
class _Road:
    height: Floats
    load: Floats
    placed: list[Placed] = field(default_factory=list)


def ride(wheel: Wheel, *, seed: int, length: float = 40.0, roughness: float = 1.0) -> Ride:
    """A ride with events every few seconds.

    Parameters
    ----------
    wheel : that is ridden.
    seed : of the road and of what is met on it.
    length : of the ride. [s]
    roughness : of the ground between events; 1 is a good trail. [-]
    """
    rng = np.random.default_rng(seed)
    time = np.arange(0.0, length, STEP)
    road = _Road(_uneven_ground(rng, time.size, roughness), np.zeros(time.size))
    kinds: list[Kind] = []
    at = 2.0
    while at < length - 4.0:
        if not kinds:
            kinds = ["edge", "jump", "dive", "rollers", "edge"]
            rng.shuffle(kinds)
        at = _MAKERS[kinds.pop()](road, time, at, rng) + rng.uniform(1.2, 2.2)
    travel, grounded = _integrated(wheel, road.height, road.load)
    return Ride(wheel, time, travel, grounded, tuple(road.placed))


def _uneven_ground(rng: np.random.Generator, size: int, roughness: float) -> Floats:
    """A road whose slope is white noise up to a corner, without its slow part."""
    from scipy.signal import butter, sosfilt

    noise = rng.standard_normal(size)
    band = butter(2, [0.7, 12.0], "bandpass", fs=1 / STEP, output="sos")
    shaped = np.cumsum(sosfilt(band, noise)) * STEP
    return roughness * 0.004 * shaped / shaped.std()


def _add(road: _Road, time: Floats, start: float, shape: Floats) -> None:
    first = int(start / STEP)
    road.height[first : first + shape.size] += shape[: road.height.size - first]


def _rise(length: float) -> Floats:
    return (1 - np.cos(np.linspace(0, math.pi, max(int(length / STEP), 2)))) / 2


def _edge(road: _Road, time: Floats, at: float, rng: np.random.Generator) -> float:
    height, speed = rng.uniform(0.045, 0.075), rng.uniform(6.0, 9.0)
    up = math.sqrt(2 * 0.35 * height) / speed
    flat, down = rng.uniform(0.05, 0.15), rng.uniform(0.4, 0.8)
    _add(
        road,
        time,
        at,
        height * np.concatenate([_rise(up), np.ones(int(flat / STEP)), 1 - _rise(down)]),
    )
    road.placed.append(Placed("edge", at, at + up + 0.05))
    return at + up + flat + down


def _rollers(road: _Road, time: Floats, at: float, rng: np.random.Generator) -> float:
    period, count, height = rng.uniform(0.4, 0.7), int(rng.integers(4, 7)), rng.uniform(0.1, 0.16)
    phase = np.arange(0, count * period, STEP) / period
    _add(road, time, at, height / 2 * (1 - np.cos(2 * math.pi * phase)))
    road.placed.append(Placed("rollers", at, at + count * period))
    return at + count * period + 0.4


def _jump(road: _Road, time: Floats, at: float, rng: np.random.Generator) -> float:
    drop, rise, up = rng.uniform(0.3, 0.9), rng.uniform(0.15, 0.25), 0.9
    flight = math.sqrt(2 * drop / GRAVITY)
    fall = rise - (drop + rise) * _rise(0.25)
    level = -drop * np.ones(int((flight + 0.8) / STEP))
    _add(road, time, at, np.concatenate([rise * _rise(up), fall, level, -drop * (1 - _rise(2.5))]))
    road.placed.append(Placed("ramp", at, at + up))
    road.placed.append(Placed("jump", at + up, at + up + flight + 0.6))
    return at + up + 0.25 + flight + 0.8 + 2.5


def _dive(road: _Road, time: Floats, at: float, rng: np.random.Generator) -> float:
    force, rise, held = rng.uniform(200, 320), rng.uniform(0.2, 0.35), rng.uniform(0.8, 1.6)
    shape = force * np.concatenate([_rise(rise), np.ones(int(held / STEP)), 1 - _rise(0.4)])
    first = int(at / STEP)
    road.load[first : first + shape.size] += shape[: road.load.size - first]
    road.placed.append(Placed("dive", at, at + rise + 0.5))
    return at + rise + held + 0.4


_MAKERS = {"edge": _edge, "rollers": _rollers, "jump": _jump, "dive": _dive}


def _integrated(wheel: Wheel, road: Floats, load: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Travel of the wheel at every step [m], and whether the tyre touches the ground, from rest."""
    end = wheel.leverage.wheel_travel_end
    grid = np.linspace(0, end, 200)
    ratios = wheel.leverage.motion_ratio(wheel_travel=grid).tolist()
    c1, c2, r1, r2 = wheel.slopes
    k, preload, kt, knee = wheel.rate, wheel.preload, wheel.tyre, wheel.knee
    ms, mu = wheel.sprung, wheel.unsprung
    x = (ms * GRAVITY - preload) / k
    zu = -(ms + mu) * GRAVITY / kt
    zs = zu - x
    vs = vu = 0.0
    found, grounded = np.empty(road.size), np.ones(road.size, dtype=bool)
    last = len(grid) - 1
    for step, (ground, push) in enumerate(zip(road.tolist(), load.tolist(), strict=True)):
        x = zu - zs
        v = vu - vs
        found[step] = x
        m = ratios[min(max(int(x / end * last), 0), last)]
        w = m * v
        speed = abs(w)
        low, high = (c1, c2) if w > 0 else (r1, r2)
        size = low * min(speed, knee) + high * max(speed - knee, 0.0)
        force = k * x + preload + m * (size if w > 0 else -size)
        if x < 0:
            force += 250e3 * x - preload * min(-x / 5e-4, 1.0) + 400.0 * v
        elif x > 0.88 * end:
            over = (x - 0.88 * end) / (0.12 * end)
            force += 4e3 * over**2 + (400e3 * (x - end) + 800.0 * v if x > end else 0.0)
        grip = max(kt * (ground - zu), 0.0)
        grounded[step] = grip > 0
        vs += STEP * (force / ms - GRAVITY - push / ms)
        vu += STEP * ((grip - force) / mu - GRAVITY)
        zs += STEP * vs
        zu += STEP * vu
    return found, grounded


@dataclass(frozen=True)
class LoggerTraits:
    """How a logger spoils what truly happened.

    Parameters
    ----------
    rate : samples a second.
    noise : standard deviation of a reading. [m]
    offset : added to every reading. [m]
    slope : by which the zero wanders. [m/s]
    spikes, gaps : how many of each.
    jitter : of a sample's time, as a share of a step. [-]
    """

    rate: float = 500.0
    noise: float = 0.0003
    offset: float = 0.0
    slope: float = 0.0
    spikes: int = 0
    gaps: int = 0
    jitter: float = 0.0


@dataclass(frozen=True)
class Logged:
    """What a logger made of a ride.

    Parameters
    ----------
    time, travel : of every sample that it kept. [s], [m]
    lost : stretches without samples. [s]
    """

    time: Floats
    travel: Floats
    lost: tuple[tuple[float, float], ...]


def logged(ride: Ride, *, traits: LoggerTraits, seed: int) -> Logged:
    """A ride as a logger has it."""
    rng = np.random.default_rng(seed)
    time = np.arange(ride.time[0], ride.time[-1], 1 / traits.rate)
    time = np.sort(time + traits.jitter / traits.rate * rng.uniform(-0.5, 0.5, time.size))
    travel = np.interp(time, ride.time, ride.travel) + traits.offset + traits.slope * time
    travel += traits.noise * rng.standard_normal(time.size)
    for at in rng.choice(time.size - 4, traits.spikes, replace=False):
        travel[at : at + int(rng.integers(1, 3))] += rng.choice([-1.0, 1.0]) * rng.uniform(0.02, 0.2)
    kept = np.ones(time.size, dtype=bool)
    lost = []
    quiet = [one.end + 0.6 for one in ride.placed]
    for begin in rng.choice(quiet, min(traits.gaps, len(quiet)), replace=False):
        end = begin + rng.uniform(0.1, 0.4)
        kept &= (time < begin) | (time > end)
        lost.append((float(begin), float(end)))
    return Logged(time[kept], travel[kept], tuple(lost))


def log_text(columns: Sequence[tuple[str, Floats]], *, delimiter: str = ",", digits: int = 4) -> str:
    """Columns as CSV."""
    head = delimiter.join(name for name, _ in columns)
    rows = zip(*(values.tolist() for _, values in columns), strict=True)
    return (
        head + "\n" + "\n".join(delimiter.join(f"{cell:.{digits}f}" for cell in row) for row in rows) + "\n"
    )
