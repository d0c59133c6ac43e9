"""What the wheel does with an answer, as its page shows it: words that the search kept, and drawings."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from optimiser.bench.bench import Bench
from optimiser.documents.wheel import PlanWheelDocument, WheelOfCandidate, WheelTrace, WheelWords
from optimiser.report.plain_ride import WheelLine, wheel_svg


@dataclass(frozen=True, slots=True)
class CandidateAtWheel:
    """One candidate.

    Parameters
    ----------
    words : of it.
    drawing : of the first event, before and after.
    """

    words: WheelOfCandidate
    drawing: Markup


@dataclass(frozen=True, slots=True)
class AnswerAtWheel:
    """What the wheel does with an answer.

    Parameters
    ----------
    unknown : why that is not known; empty where it is.
    corner : whose wheel.
    words : of the event; None where nothing is known.
    drawing : of the damper as it is and each step of effort in the first event; None where none is known.
    candidates : in order.
    """

    unknown: str = ""
    corner: str = ""
    words: WheelWords | None = None
    drawing: Markup | None = None
    candidates: tuple[CandidateAtWheel, ...] = ()


def wheel_at(
    bench: Bench, kept: PlanWheelDocument | None, *, steps: int, candidates: int
) -> AnswerAtWheel | None:
    """What the page shows; None where nothing was kept, or it is not of this answer.

    Parameters
    ----------
    bench : for units.
    kept : by the search.
    steps, candidates : of effort, and listed, in the answer.
    """
    if kept is None or kept.unknown:
        return None if kept is None else AnswerAtWheel(unknown=kept.unknown)
    words = kept.words.get(bench.units.value)
    if (
        words is None
        or kept.before is None
        or (len(kept.rungs), len(words.rungs)) != (steps, steps)
        or (len(kept.candidates), len(words.candidates)) != (candidates, candidates)
    ):
        return None
    before = _line("as it is", kept.before)

    def drawing(lines: list[WheelLine]) -> Markup:
        said = f"Wheel travel over time, {words.event}, {kept.corner}."
        return wheel_svg(
            [before, *lines], rest=kept.rest_m, travel=kept.travel_m, units=bench.units, said=said
        )

    return AnswerAtWheel(
        corner=kept.corner,
        words=words,
        drawing=drawing(
            [
                _line(said.partition(":")[0], kept.traces[place])
                for said, place in zip(words.rungs, kept.rungs, strict=True)
            ]
        ),
        candidates=tuple(
            CandidateAtWheel(one, drawing([_line(f"candidate {rank}", kept.traces[place])]))
            for rank, (one, place) in enumerate(zip(words.candidates, kept.candidates, strict=True), 1)
        ),
    )


def _line(name: str, trace: WheelTrace) -> WheelLine:
    return WheelLine(name, tuple(trace.times_s), tuple(trace.travel_m))
