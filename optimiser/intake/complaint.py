"""From what a rider says to bands that move and bands that stay, with the reasons shown."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from optimiser.errors import InputError
from optimiser.intake.bands import RIGHT_WAY, HoldBand, Stroke, TargetBand


@dataclass(frozen=True, slots=True)
class NamedBand:
    """A range of shaft velocity that has a name in the shop.

    Parameters
    ----------
    name : low, mid, high, or the shop's own.
    low, high : slowest and fastest shaft velocity. [m/s]
    means : what happens on a ride at these velocities.
    """

    name: str
    low: float
    high: float
    means: str = ""


@dataclass(frozen=True, slots=True)
class Symptom:
    """One thing that riders say, and where on the curve it lives.

    Parameters
    ----------
    name, also : the words, and other words for the same.
    end : the end of the machine it concerns; 'either' when it may be any.
    stroke, band : the place on the curve.
    shift : the first step, as a share of the force before; its sign is the direction. [-]
    look_first : what to look at before the damper.
    reason : why there, in a sentence.
    """

    name: str
    also: tuple[str, ...]
    end: str
    stroke: Stroke
    band: str
    shift: float
    look_first: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """The shop's table of symptoms.

    Parameters
    ----------
    bands : by name, in order of velocity.
    symptoms : what riders say.
    target_tolerance, hold_tolerance : used where a job names none, as shares of the force before. [-]
    guard : factor in velocity between a target and a held band. [-]
    right_way : parts of the wanted shift that each velocity of a target moves by, at least and at most. [-]
    """

    bands: Mapping[str, NamedBand]
    symptoms: tuple[Symptom, ...]
    target_tolerance: float
    hold_tolerance: float
    guard: float
    right_way: tuple[float, float] = RIGHT_WAY

    def symptom(self, words: str) -> Symptom:
        """The symptom that words stand for.

        Raises
        ------
        InputError
            When no symptom, or more than one, goes by these words; it names the nearest.
        """
        said = _plain(words)
        exact = [row for row in self.symptoms if said in {_plain(name) for name in _names(row)}]
        if exact:
            return exact[0]
        inside = self.heard_in(words)
        if len(inside) == 1:
            return inside[0]
        if inside:
            several = " and ".join(f"'{row.name}'" for row in inside)
            raise InputError(
                f"got symptom {words!r}, which names {several}; expected one. Plan the one that hurts "
                "most first."
            )
        names = [name for row in self.symptoms for name in _names(row)]
        near = difflib.get_close_matches(said, [_plain(name) for name in names], n=1, cutoff=0.6)
        known = ", ".join(f"'{row.name}'" for row in self.symptoms)
        hint = f"Did you mean '{near[0]}'?" if near else f"Known: {known}."
        raise InputError(
            f"got symptom {words!r}, expected one from the shop's table. {hint} Or give the band in numbers."
        )

    def heard_in(self, words: str) -> tuple[Symptom, ...]:
        """Every symptom whose words occur in a free sentence: to be offered, not to be taken for granted."""
        said = f" {_plain(words)} "
        found = [
            (row, name) for row in self.symptoms for name in map(_plain, _names(row)) if f" {name} " in said
        ]
        # The longer words say more: 'harsh on edges' is not 'harsh'.
        names = [name for _, name in found]
        whole = [
            row
            for row, name in found
            if not any(name != other and f" {name} " in f" {other} " for other in names)
        ]
        return tuple(row for row in self.symptoms if row in whole)


@dataclass(frozen=True, slots=True)
class Complaint:
    """What a job says about its complaint; every number that is given wins over the words.

    Parameters
    ----------
    symptom : words from the shop's table; None when the numbers say it all.
    corner : the corner it is about; None when the symptom's end has only one.
    stroke : overrides the symptom's.
    low, high : shaft velocities that override the symptom's band. [m/s]
    shift : overrides the symptom's step. [-]
    tolerance, hold_tolerance : override the table's. [-]
    at_every_velocity : whether each velocity has to move by the shift, and not the band on average.
    instant : the event that the velocities come from; None when they do not.
    narrow : whether one instant is complained of, and the rest is to stay so much the better.
    """

    symptom: str | None = None
    corner: str | None = None
    stroke: Stroke | None = None
    low: float | None = None
    high: float | None = None
    shift: float | None = None
    tolerance: float | None = None
    hold_tolerance: float | None = None
    at_every_velocity: bool = False
    instant: str | None = None
    narrow: bool = False


@dataclass(frozen=True, slots=True)
class Interpretation:
    """What a complaint amounts to.

    Parameters
    ----------
    targets, holds : bands for the goal.
    symptom : the row it came from; None when numbers said it all.
    reasons : why each was chosen, in sentences, so that the tuner can disagree.
    look_first : what to look at before the damper.
    """

    targets: tuple[TargetBand, ...]
    holds: tuple[HoldBand, ...]
    symptom: Symptom | None
    reasons: tuple[str, ...]
    look_first: tuple[str, ...] = field(default=())


NARROW: Final = 1 / 3
"""Share of its shift that a narrow complaint leaves the rest, unless the job says otherwise; common practice,
no source. [-]"""


def interpret(complaint: Complaint, vocabulary: Vocabulary) -> Interpretation:
    """Turn a complaint into the band to move and the bands to hold.

    The bands of the same stroke that nobody complained of are held, but for a guard on both sides of the
    target, where nothing can be promised. One instant holds them to a third of its shift, so that what is
    changed is aimed at it.

    Raises
    ------
    InputError
        When the symptom is not known, or neither words nor numbers say enough.
    """
    row = vocabulary.symptom(complaint.symptom) if complaint.symptom else None
    target = _target(complaint, row, vocabulary)
    tolerance = hold_tolerance(complaint, [target], vocabulary)
    holds = tuple(_held(vocabulary.bands.values(), target, vocabulary.guard, tolerance))
    reasons = list(_reasons(complaint, row, target, vocabulary))
    reasons += [f"Held: {hold.label} within {held_words(hold)}; nobody complained of it." for hold in holds]
    if complaint.narrow and complaint.hold_tolerance is None:
        reasons.append(
            "One instant is complained of, so the rest may move by a third of the shift at most (common "
            "practice, no source); hold_tolerance_percent under [complaint] says otherwise."
        )
    return Interpretation((target,), holds, row, tuple(reasons), row.look_first if row else ())


def hold_tolerance(complaint: Complaint, targets: Sequence[TargetBand], vocabulary: Vocabulary) -> float:
    """How far the rest may move, as a share of the force before. [-]"""
    if complaint.hold_tolerance is not None:
        return complaint.hold_tolerance
    if not complaint.narrow:
        return vocabulary.hold_tolerance
    shifts = (NARROW * abs(target.shift) for target in targets if target.shift)
    return min(*shifts, vocabulary.hold_tolerance)


def held_words(hold: HoldBand) -> str:
    """How far a band may move: ``2.67%``."""
    return f"{100 * hold.tolerance:.3g} %"


def _target(complaint: Complaint, row: Symptom | None, vocabulary: Vocabulary) -> TargetBand:
    band = vocabulary.bands[row.band] if row else None
    stroke = complaint.stroke or (row.stroke if row else None)
    low = complaint.low or (band.low if band else None)
    high = complaint.high or (band.high if band else None)
    shift = complaint.shift if complaint.shift is not None else (row.shift if row else None)
    missing = [
        what
        for what, value in (("stroke", stroke), ("from", low), ("to", high), ("shift", shift))
        if value is None
    ]
    if stroke is None or low is None or high is None or shift is None:
        raise InputError(
            f"the complaint says too little: got no symptom and no {', '.join(missing)}, expected a "
            "symptom from "
            "the shop's table, or stroke, velocities and shift in numbers."
        )
    name = row.name if row else f"{stroke} {low:g} to {high:g} m/s"
    return TargetBand(
        name,
        stroke,
        low,
        high,
        complaint.tolerance or vocabulary.target_tolerance,
        shift=shift,
        at_every_velocity=complaint.at_every_velocity,
        in_words=complaint.shift is None and complaint.tolerance is None and complaint.instant is None,
    )


def _held(
    bands: Iterable[NamedBand], target: TargetBand, guard: float, tolerance: float
) -> Iterator[HoldBand]:
    for band in bands:
        below, above = min(band.high, target.low / guard), max(band.low, target.high * guard)
        if band.low < below and band.low < target.low:
            inside = ", below" if band.high > target.low else ""
            yield HoldBand(f"{band.name} speed{inside}", target.stroke, band.low, below, tolerance)
        if above < band.high and band.high > target.high:
            inside = ", above" if band.low < target.high else ""
            yield HoldBand(f"{band.name} speed{inside}", target.stroke, above, band.high, tolerance)


def _reasons(
    complaint: Complaint, row: Symptom | None, target: TargetBand, vocabulary: Vocabulary
) -> Iterator[str]:
    way = "more" if target.shift and target.shift > 0 else "less"
    yield f"Target: {way} {target.stroke} force from {target.low:.3g} to {target.high:.3g} m/s at the shaft."
    if complaint.instant is not None:
        yield f"The velocities are those of the instant: {complaint.instant}."
    if row is None:
        yield "No symptom was asked."
        return
    means = vocabulary.bands[row.band].means
    yield f"'{row.name}' points to {row.stroke}, {row.band} speed ({means}). {row.reason}"
    yield "The table behind it is common practice without a source; the shop may edit it."
    given = {"stroke": complaint.stroke, "shift": complaint.shift}
    if complaint.instant is None:
        given |= {"from": complaint.low, "to": complaint.high}
    over = [what for what, value in given.items() if value is not None]
    if over:
        yield f"Numbers given for {', '.join(over)} win over the words."


def _names(row: Symptom) -> tuple[str, ...]:
    return (row.name, *row.also)


def _plain(words: str) -> str:
    return re.sub(r"[^a-z0-9]+", " ", words.lower().replace("'", "")).strip()
