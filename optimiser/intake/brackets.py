"""Bracketing: each adjuster ridden from end to end with the others held, and what came of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from damping_model.damper.damper import Damper
from optimiser.errors import InputError
from optimiser.intake.basics import BasicsFinding, GateResult
from optimiser.model.percent import percent_text

Predict = Callable[[str, int], Mapping[str, float]]
"""Change of each named band [-] when an adjuster stands at so many clicks out and the others stay."""

SEEN: Final = 0.005
"""Changes below this print as nothing and are left out. [-]"""


@dataclass(frozen=True, slots=True)
class Adjuster:
    """An outside adjuster.

    Parameters
    ----------
    name : as the damper file names it.
    most : clicks out from closed at its open end.
    at : where it stands.
    """

    name: str
    most: int
    at: int


def adjusters_of(damper: Damper) -> tuple[Adjuster, ...]:
    """Every clicker with its range and with where it stands, in the damper's order."""
    return tuple(
        Adjuster(name=clicker.name, most=len(clicker.areas) - 1, at=clicker.position)
        for clicker in damper.clickers
    )


@dataclass(frozen=True, slots=True)
class Notes:
    """What riding one adjuster's range brought to light.

    Parameters
    ----------
    adjuster : its name.
    lowest, highest : clicks out, the ends that were ridden.
    best : clicks out where it was best; None when none stood out.
    better, worse : the rider's words on it.
    """

    adjuster: str
    lowest: int
    highest: int
    best: int | None = None
    better: str = ""
    worse: str = ""


@dataclass(frozen=True, slots=True)
class Run:
    """One ride of the plan.

    Parameters
    ----------
    number : in order.
    adjuster, clicks : what stands where, in clicks out.
    held : where the others stay.
    predicted : what the model expects of each band, against the start. [-]
    """

    number: int
    adjuster: str
    clicks: int
    held: Mapping[str, int]
    predicted: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class RidePlan:
    """Rides that show what the adjusters can do before anything is opened."""

    runs: tuple[Run, ...]

    def text(self) -> str:
        """The plan to print and to write on."""
        lines = [
            "Ride plan: one adjuster at a time, the others held. Same stretch, same tyres, same rider.",
            "Clicks are counted out from fully closed. Ride each setting twice before you write.",
        ]
        for run in self.runs:
            held = ", ".join(f"{name} {clicks}" for name, clicks in run.held.items())
            lines += [
                "",
                f"{run.number}. {run.adjuster}: {run.clicks} clicks out"
                + (f"   (held: {held})" if held else ""),
            ]
            if run.predicted:
                moved = {band: change for band, change in run.predicted.items() if abs(change) >= SEEN}
                bands = (
                    ", ".join(f"{band} {percent_text(change, 0)}" for band, change in moved.items())
                    or "no change"
                )
                lines.append(f"   model expects, against the start: {bands}")
            lines += [f"   {word}: {'_' * 60}" for word in ("better", "worse ")]
        lines += ["", "Back to the start. Best setting of each adjuster: " + "_" * 30, ""]
        return "\n".join(lines)


def ride_plan(*, adjusters: Sequence[Adjuster], predict: Predict | None = None) -> RidePlan:
    """Rides from where each adjuster stands to both its ends, one adjuster at a time.

    Parameters
    ----------
    adjusters : of one damper, first to be ridden first.
    predict : what the model expects of each band; left out, the plan says nothing on it.
    """
    for adjuster in adjusters:
        if not 0 <= adjuster.at <= adjuster.most:
            raise InputError(
                f"adjuster '{adjuster.name}': got {adjuster.at} clicks out, expected 0 to {adjuster.most}."
            )
    return RidePlan(tuple(_runs(adjusters, predict)))


def check_brackets(
    *, adjusters: Sequence[Adjuster], notes: Sequence[Notes], predict: Predict | None = None
) -> tuple[BasicsFinding, ...]:
    """What the notes say about each adjuster: ridden or not, over what range, and where it was best.

    None of it stops a plan; it is advice that the build sheet prints.

    Raises
    ------
    InputError
        For notes on an adjuster that the damper has not, or on clicks outside its range.
    """
    by_name = {adjuster.name: adjuster for adjuster in adjusters}
    for note in notes:
        _note_makes_sense(note, by_name)
    noted = {note.adjuster: note for note in notes}
    return tuple(_finding(adjuster, noted.get(adjuster.name), predict) for adjuster in adjusters)


def with_brackets(
    gate: GateResult, *, adjusters: Sequence[Adjuster], notes: Sequence[Notes], predict: Predict | None = None
) -> GateResult:
    """What the gate knows, with what came of bracketing; adjusters that nobody rode count as unchecked.

    Parameters
    ----------
    gate : from the basics.
    adjusters, notes, predict : as :func:`check_brackets` takes them.
    """
    ridden = {note.adjuster for note in notes}
    unridden = tuple(f"bracketing, {adjuster.name}" for adjuster in adjusters if adjuster.name not in ridden)
    findings = check_brackets(adjusters=adjusters, notes=notes, predict=predict)
    told = tuple(
        finding for adjuster, finding in zip(adjusters, findings, strict=True) if adjuster.name in ridden
    )
    return replace(gate, findings=(*gate.findings, *told), unchecked=(*gate.unchecked, *unridden))


def _runs(adjusters: Sequence[Adjuster], predict: Predict | None) -> Iterator[Run]:
    number = 0
    for adjuster in adjusters:
        held = {other.name: other.at for other in adjusters if other is not adjuster}
        middle = adjuster.most // 2
        for clicks in dict.fromkeys((adjuster.at, 0, middle, adjuster.most)):
            number += 1
            expected = predict(adjuster.name, clicks) if predict and clicks != adjuster.at else {}
            yield Run(number, adjuster.name, clicks, held, expected)


def _note_makes_sense(note: Notes, adjusters: Mapping[str, Adjuster]) -> None:
    if note.adjuster not in adjusters:
        raise InputError(
            f"bracketing notes: got adjuster {note.adjuster!r}, expected one of "
            f"{', '.join(adjusters) or 'none'}."
        )
    most = adjusters[note.adjuster].most
    for what, clicks in (("lowest", note.lowest), ("highest", note.highest), ("best", note.best)):
        if clicks is not None and not 0 <= clicks <= most:
            raise InputError(
                f"bracketing notes on '{note.adjuster}': got {what} {clicks} clicks out, expected 0 "
                f"to {most}."
            )
    if note.best is not None and not note.lowest <= note.best <= note.highest:
        raise InputError(
            f"bracketing notes on '{note.adjuster}': got best at {note.best} clicks out, expected it "
            "between "
            f"{note.lowest} and {note.highest}, the ends that were ridden."
        )


def _finding(adjuster: Adjuster, note: Notes | None, predict: Predict | None) -> BasicsFinding:
    what = f"bracketing, {adjuster.name}"
    whole = f"ridden from 0 to {adjuster.most} clicks out, the others held"
    if note is None:
        return BasicsFinding(
            what,
            "not ridden",
            whole,
            "Print the ride plan and ride it; a turn of a knob costs nothing.",
            "Only a complaint that outlives the adjusters earns a revalve.",
            stops=False,
        )
    got = f"ridden from {note.lowest} to {note.highest} clicks out"
    got += f", best at {note.best}" if note.best is not None else ", no best setting"
    said = "; ".join(
        f"{word}: {text}" for word, text in (("better", note.better), ("worse", note.worse)) if text
    )
    return BasicsFinding(
        what, got, whole, _advice(adjuster, note, predict), said or "No words were noted.", stops=False
    )


def _advice(adjuster: Adjuster, note: Notes, predict: Predict | None) -> str:
    if note.lowest > 0 or note.highest < adjuster.most:
        return "Ride the rest of the range as well, then note it again."
    if note.best is None:
        return "The adjuster does not reach what is complained of; the plan may go on."
    if note.best in {0, adjuster.most}:
        end = "closed" if note.best == 0 else "open"
        return f"Best at its {end} end: the range is used up, and more of the same needs the stack."
    model = ""
    if predict is not None and note.best != adjuster.at:
        bands = predict(adjuster.name, note.best)
        model = (
            " The model says this moves "
            + ", ".join(f"{b} {percent_text(c, 0)}" for b, c in bands.items())
            + "."
        )
    return f"Set it to {note.best} clicks out and plan from there with what is left.{model}"
