"""What no damper on any dyno does: figures that are a slip of unit or column are refused, not read."""

from __future__ import annotations

from typing import Final

import numpy as np

from optimiser.dyno.given import Floats, Given
from optimiser.dyno.strokes import Motion, cycles_of
from optimiser.errors import InputError

RATES: Final = (10.0, 20_000.0)
"""Samples a second that a dyno may take."""

TRAVELS: Final = (3e-3, 0.3)
"""Stroke of a dyno, from end to end; common practice, no source. [m]"""

SPEEDS: Final = (3e-3, 10.0)
"""Fastest velocity of a run; common practice, no source. [m/s]"""

FORCES: Final = (0.1, 50e3)
"""Greatest force of a run, without regard to sign; common practice, no source. [N]"""

WEAKEST: Final = 5.0
"""Greatest force of the strongest run of a file; common practice, no source. [N]"""

STROKES_AGREE: Final = 0.2
"""A stroke that the file names and the displacement contradicts by more is a slip. [-]"""

IMPURE: Final = 0.15
"""Part of a displacement that is no sine, from which on the force is looked at instead. [-]"""

PURER: Final = 3.0
"""A force that is so many times nearer to a sine than the displacement is the displacement."""

FEWEST_AT_END: Final = 3
"""Samples in a row at one extreme that may be a load cell at its end."""

STEEP: Final = 4.0
"""Steps of the cell's resolution from the extreme to its neighbour: no real top is so flat and so steep."""


def refuse_impossible(
    given: Given, *, speed: float, force: float, travel: float | None = None, rate: float | None = None
) -> None:
    """Refuse figures that only a wrong unit explains.

    Raises
    ------
    InputError
        Naming the figure, what a dyno does, and where to look.
    """
    for what, value, (least, most), unit in (
        ("a rate", rate, RATES, "samples a second"),
        ("a stroke", travel, TRAVELS, "m"),
        ("a fastest velocity", speed, SPEEDS, "m/s"),
        ("a greatest force", force, FORCES, "N"),
    ):
        if value is not None and not least <= value <= most:
            raise InputError(
                f"{given.place}: got {what} of {value:.3g} {unit}, expected {least:g} to {most:g}. "
                "Check the units of the columns, and that none are swapped; say them with --column."
            )
    if travel is not None and given.stroke is not None and abs(travel / given.stroke - 1) > STROKES_AGREE:
        raise InputError(
            f"{given.place}: the displacement runs over {1000 * travel:.4g} mm and the file names a stroke "
            f"of {1000 * given.stroke:.4g} mm; expected both alike. Check the displacement's unit with "
            "--column."
        )


def refuse_weak(place: str, force: float) -> None:
    """Refuse a file in which no run has the force of a damper; a slow run of a soft one may have little.

    Raises
    ------
    InputError
        Naming the force and where to look.
    """
    if force < WEAKEST:
        raise InputError(
            f"{place}: got a greatest force of {force:.3g} N in the file, expected {WEAKEST:g} or more. "
            "Check the units of the columns, and that none are swapped; say them with --column."
        )


def refuse_swapped(given: Given, motion: Motion) -> None:
    """Refuse a recording whose force moves like a crank and whose displacement does not.

    Raises
    ------
    InputError
        When displacement and force look swapped.
    """
    impure = [
        (_no_sine(motion.displacement[part]), _no_sine(motion.force[part]))
        for start in cycles_of(motion.strokes)
        for part in (slice(motion.strokes[start].first, motion.strokes[start + 1].last),)
    ]
    travel, force = np.median(np.array(impure), axis=0)
    if travel > IMPURE and force * PURER < travel:
        raise InputError(
            f"{given.place}: the force is a sine to {100 * force:.1f} % and the displacement only to "
            f"{100 * travel:.0f} %, expected a dyno to move evenly. The two columns look swapped; say "
            "which is which with --column."
        )


def _no_sine(values: Floats) -> float:
    """What is left of one turn when its best sine is taken off, as a share of the sine. [-]"""
    angle = 2 * np.pi * np.arange(values.size) / values.size
    terms = np.column_stack([np.ones(values.size), np.sin(angle), np.cos(angle)])
    best, *_ = np.linalg.lstsq(terms, values, rcond=None)
    size = float(np.hypot(best[1], best[2]) / np.sqrt(2))
    return float(np.std(values - terms @ best)) / size if size else np.inf


def saturated_at(force: Floats) -> float | None:
    """Force at which the load cell is at its end; None where it never is. [N]

    A cell at its end says the same figure several times in a row and comes to it steeply; a real top of a
    force is flat before it is reached, and a coarse cell steps to it by its own resolution.
    """
    levels = np.unique(force)
    if levels.size < 8:
        return None
    resolution = float(np.diff(levels).min())
    for extreme in (levels[-1], levels[0]):
        there = force == extreme
        edges = np.flatnonzero(np.diff(np.concatenate([[0], there.astype(int), [0]])))
        first, last = edges[::2], edges[1::2] - 1
        long = last - first + 1 >= FEWEST_AT_END
        if not long.any():
            continue
        before = np.abs(extreme - force[np.maximum(first[long] - 1, 0)])
        after = np.abs(extreme - force[np.minimum(last[long] + 1, force.size - 1)])
        if float(np.median(np.maximum(before, after))) > STEEP * resolution:
            return float(extreme)
    return None
