"""Share of a ride by shaft velocity and travel: how long, how far, and how fast at most."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimiser.intake.bands import SIGN, Stroke
from optimiser.intake.complaint import NamedBand
from optimiser.ride_log.trace import Flags, Floats, WheelMotion

STROKES: Final[tuple[Stroke, ...]] = ("compression", "rebound")


@dataclass(frozen=True, slots=True, kw_only=True)
class BandShare:
    """One range of shaft velocity, of one stroke.

    Parameters
    ----------
    band : its name.
    stroke : shaft going in or coming out; None for what is too slow to tell.
    low, high : slowest and fastest; infinite where the range has no end. [m/s]
    time : share of the time that counts. [-]
    way : share of the shaft's whole way, in and out. [-]
    """

    band: str
    stroke: Stroke | None
    low: float
    high: float
    time: float
    way: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokePeaks:
    """The fastest of one stroke.

    Parameters
    ----------
    stroke : shaft going in or coming out.
    velocity : of the shaft, at its fastest. [m/s]
    at : when. [s]
    travel : of the wheel, there. [m]
    usually_below : that 99 of 100 moments of the stroke stay below. [m/s]
    """

    stroke: Stroke
    velocity: float
    at: float
    travel: float
    usually_below: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Density:
    """Share of time over shaft velocity and wheel travel.

    Parameters
    ----------
    velocities : edges of the cells, rebound negative (columns + 1,). [m/s]
    travels : edges of the cells, from full extension (rows + 1,). [m]
    share : of the time that counts, in each cell (rows, columns). [-]
    """

    velocities: Floats
    travels: Floats
    share: Floats


SLOWER, FASTER = "slower", "faster"
"""What is below and above all bands of the shop."""


def shares(motion: WheelMotion, bands: Sequence[NamedBand], *, among: Flags | None = None) -> list[BandShare]:
    """Share of time and way: of all that is slower than any band, then of every band by stroke.

    Parameters
    ----------
    motion : of one wheel.
    bands : of the shop.
    among : samples looked at; all that count when left out (samples,).
    """
    velocity = motion.shaft_velocity[motion.counted if among is None else among & motion.counted]
    slowest, fastest = min(one.low for one in bands), max(one.high for one in bands)
    found = [_share(np.abs(velocity), velocity, NamedBand(SLOWER, 0.0, slowest), None)]
    for stroke in STROKES:
        found.extend(
            _share(SIGN[stroke] * velocity, velocity, span, stroke)
            for span in (*bands, NamedBand(FASTER, fastest, float("inf")))
        )
    return found


def _share(speed: Floats, velocity: Floats, span: NamedBand, stroke: Stroke | None) -> BandShare:
    inside = (speed >= span.low) & (speed < span.high)
    way = float(np.abs(velocity).sum())
    return BandShare(
        band=span.name,
        stroke=stroke,
        low=span.low,
        high=span.high,
        time=float(inside.mean()) if inside.size else 0.0,
        way=float(speed[inside].sum()) / way if way else 0.0,
    )


def peaks(motion: WheelMotion) -> list[StrokePeaks]:
    """The fastest of each stroke that there is."""
    found = []
    for stroke in STROKES:
        speed = np.where(motion.counted, SIGN[stroke] * motion.shaft_velocity, 0.0)
        moving = speed[speed > 0]
        if moving.size:
            at = int(np.argmax(speed))
            found.append(
                StrokePeaks(
                    stroke=stroke,
                    velocity=float(speed[at]),
                    at=float(motion.time[at]),
                    travel=float(motion.wheel_travel[at]),
                    usually_below=float(np.percentile(moving, 99)),
                )
            )
    return found


def faster_than(motion: WheelMotion, stroke: Stroke, speeds: Floats) -> Floats:
    """Share of the time that counts in which the shaft is faster, in a stroke, than each speed (speeds,).

    Parameters
    ----------
    motion : of one wheel.
    stroke : shaft going in or coming out.
    speeds : (speeds,). [m/s]
    """
    ordered = np.sort(SIGN[stroke] * motion.shaft_velocity[motion.counted])
    slower = np.searchsorted(ordered, speeds, side="right")
    found: Floats = 1 - slower / max(ordered.size, 1)
    return found


def density(motion: WheelMotion, *, columns: int, rows: int, fastest: float | None = None) -> Density:
    """Share of time over velocity and travel; cells of velocity widen with the square of their number.

    Parameters
    ----------
    motion : of one wheel.
    columns : cells of velocity, even in number, half of them a stroke.
    rows : cells of travel.
    fastest : where the velocities end; the run's own fastest when left out. What is faster counts in the last
        cell. [m/s]
    """
    velocity = motion.shaft_velocity[motion.counted]
    top = float(np.abs(velocity).max()) if fastest is None else fastest
    half = np.linspace(0, 1, columns // 2 + 1)[1:] ** 2 * top
    edges = np.concatenate([-half[::-1], [0.0], half])
    travels = np.linspace(0.0, motion.travel_end, rows + 1)
    inside = np.clip(motion.wheel_travel[motion.counted], 0.0, motion.travel_end)
    counted, _, _ = np.histogram2d(inside, np.clip(velocity, -top, top), bins=[travels, edges])
    return Density(velocities=edges, travels=travels, share=counted / velocity.size)
