"""From recordings of time, displacement and force to dyno runs: everything derived, and everything said."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from optimiser.dyno.given import Given, Recording, Settled
from optimiser.dyno.near_zero import AtRest, at_rest
from optimiser.dyno.points import points_of
from optimiser.dyno.run import DynoPoint, DynoRun, PlotKind
from optimiser.dyno.sampling import EvenSamples, evenly
from optimiser.dyno.signs import Signs, signs_of, turned
from optimiser.dyno.strays import strays
from optimiser.dyno.stroke_points import StrokePoints, points_of_stroke
from optimiser.dyno.strokes import FEWEST_SAMPLES, Motion, cycles_of, motion_of
from optimiser.dyno.suspicions import refuse_impossible, refuse_swapped, refuse_weak, saturated_at
from optimiser.dyno.warm_up import BEFORE_READING, STEADY, WarmUp, warm_up
from optimiser.errors import InputError

SAME_SPEED: Final = 0.04
"""Strokes whose peak velocities differ by less belong together. [-]"""

USUAL: Final = 9
"""Strokes whose middle velocity is that of their group."""


def read_recordings(recordings: Sequence[Recording], settled: Settled) -> list[tuple[DynoRun, AtRest | None]]:
    """Runs of one file, whose channels are wired alike, with their forces at rest where they tell them.

    Raises
    ------
    InputError
        Naming the run, and what it cannot be read for.
    """
    sampled = [evenly(one, settled) for one in recordings]
    motions = [_motion(one.given, samples) for one, samples in zip(recordings, sampled, strict=True)]
    place = recordings[0].given.place
    refuse_weak(place, max(float(np.abs(motion.force).max()) for motion in motions))
    signs = signs_of(motions, settled, place=place)
    found = []
    for one, samples, motion in zip(recordings, sampled, motions, strict=True):
        right = turned(motion, signs)
        found.append((_run(one.given, samples, right, signs, settled), at_rest(right)))
    return found


def _motion(given: Given, samples: EvenSamples) -> Motion:
    motion = motion_of(samples)
    index = np.concatenate([np.arange(one.first, one.last) for one in motion.strokes] or [np.arange(0)])
    if not cycles_of(motion.strokes):
        if motion.sparse:
            raise InputError(
                f"{given.place}: got strokes of fewer than {FEWEST_SAMPLES} samples at {motion.rate:.4g} a "
                "second, expected more. Record faster, or run slower."
            )
        raise InputError(
            f"{given.place}: got {len(motion.strokes)} whole strokes, expected two or more: the shaft has to "
            "go there and back. Record longer, and check that displacement is the column meant."
        )
    refuse_impossible(
        given,
        speed=float(np.abs(motion.velocity[index]).max()),
        force=float(np.percentile(np.abs(motion.force[index]), 99)),
        travel=float(np.ptp(motion.displacement[index])),
        rate=motion.rate,
    )
    refuse_swapped(given, motion)
    if (end := saturated_at(motion.force)) is not None:
        raise InputError(
            f"{given.place}: the force stays at exactly {end:.5g} N where it should go on, expected a load "
            "cell within its range. It was at its end: run slower, or with a larger cell."
        )
    return motion


def _run(given: Given, samples: EvenSamples, motion: Motion, signs: Signs, settled: Settled) -> DynoRun:
    middle = None if settled.mid_stroke is None else signs.travel * settled.mid_stroke
    strokes = [points_of_stroke(motion, one, mid_stroke=middle) for one in motion.strokes]
    notes = [*given.notes, *samples.notes, *signs.notes, *_motion_notes(motion, strokes, middle)]
    points: list[DynoPoint] = []
    for group in _at_one_speed(strokes):
        kept, said = _kept(group, settled)
        notes.extend(said)
        by_sign = [[one for one in kept if one.stroke.sign == sign] for sign in (1.0, -1.0)]
        offset = float(np.mean([np.mean([one.force for one in own]) for own in by_sign if own]))
        for own in by_sign:
            if own:
                fresh, lag = points_of(own, offset=offset, at_middle=settled.mid_stroke is not None)
                points.extend(fresh)
                notes.extend(lag)
    return DynoRun(
        name=given.name,
        source=given.source,
        lines=given.lines,
        kind=PlotKind.CONTINUOUS,
        points=tuple(sorted(points, key=lambda point: point.velocity)),
        clicks=given.clicks,
        temperature=given.temperature,
        gas_pressure=given.gas_pressure,
        stroke=float(np.ptp(motion.displacement)) if given.stroke is None else given.stroke,
        sample_rate=motion.rate,
        notes=tuple(notes),
    )


def _motion_notes(motion: Motion, strokes: Sequence[StrokePoints], middle: float | None) -> Iterator[str]:
    count = len(strokes)
    if motion.sparse:
        yield f"{motion.sparse} strokes with fewer than {FEWEST_SAMPLES} samples are dropped: record faster."
    if motion.gapped:
        yield f"{motion.gapped} strokes with a gap are dropped."
    yield f"{count} whole strokes; what is before the first reversal and after the last is dropped."
    if all(one.steady for one in strokes):
        yield "The shaft runs at one speed for most of each stroke: a ramp, with no branches off its peak."
    if middle is not None:
        yield "The force is read at the displacement that you say."
    elif all(one.at_middle for one in strokes):
        yield "Half-way between the ends of each stroke is its mid-stroke, where the force is read."
    else:
        elsewhere = sum(not one.at_middle for one in strokes)
        yield f"In {elsewhere} of {count} strokes the shaft is fastest elsewhere; the force is read there."


def _at_one_speed(strokes: Sequence[StrokePoints]) -> list[list[StrokePoints]]:
    """Strokes in a row that run alike, as a session steps from one speed to the next in one recording."""
    groups: list[list[StrokePoints]] = []
    for one in strokes:
        if groups and _alike(groups[-1], one):
            groups[-1].append(one)
        else:
            groups.append([one])
    most = max(map(len, groups))
    # Strokes between two steps belong to neither, where there are steps.
    return [group for group in groups if len(group) > 2] if most > 4 else groups


def _alike(group: Sequence[StrokePoints], other: StrokePoints) -> bool:
    usual = float(np.median([abs(one.velocity) for one in group[-USUAL:]]))
    return abs(usual - abs(other.velocity)) <= SAME_SPEED * usual


def _kept(group: Sequence[StrokePoints], settled: Settled) -> tuple[Sequence[StrokePoints], list[str]]:
    """Strokes that are left when stray and warm-up ones are dropped, and what is said of it."""
    speed = float(np.mean([abs(one.velocity) for one in group]))
    at = f"At {speed:.3g} m/s"
    stray = [False] * len(group)
    for sign in (1.0, -1.0):
        own = [number for number, one in enumerate(group) if one.stroke.sign == sign]
        for number, is_stray in zip(own, strays(np.array([group[i].force for i in own])), strict=True):
            stray[number] = bool(is_stray)
    said = []
    if any(stray):
        said.append(
            f"{at} {sum(stray)} of {len(group)} strokes are dropped: their peak is nothing like the others'."
        )
    starts = cycles_of([one.stroke for one in group])
    if len(starts) < 2:
        words = f"{at} there is one cycle: nothing is dropped for warming, and no spread is known."
        return [one for one, out in zip(group, stray, strict=True) if not out], [*said, words]
    sizes = np.array([(group[start].force - group[start + 1].force) / 2 for start in starts])
    spoiled = np.array([stray[start] or stray[start + 1] for start in starts])
    sizes = np.abs(sizes)
    sizes[spoiled] = np.median(sizes)
    found = warm_up(sizes, settled=settled.warm_up)
    first = starts[found.dropped]
    kept = [one for number, one in enumerate(group) if number >= first and not stray[number]]
    return kept, [*said, _warm_up_words(at, found, settled)]


def _warm_up_words(at: str, found: WarmUp, settled: Settled) -> str:
    why = "as you say" if settled.warm_up is not None else "for warming up"
    first = "the first cycle is" if found.dropped == 1 else f"the first {found.dropped} cycles are"
    words = f"{at} {first} dropped {why}, {found.kept} are read" if found.dropped else f"{at} none is dropped"
    if found.dropped:
        words += f"; over the dropped ones the force changes by {100 * found.change:+.1f} %"
    if abs(found.left) > STEADY:
        words += f"; over those that are read it still changes by {100 * found.left:+.1f} %"
    if settled.warm_up is None and found.dropped < BEFORE_READING:
        words += f"; {BEFORE_READING} before reading are usual, and there are too few for that"
    return words + "."
