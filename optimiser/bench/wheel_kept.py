"""What the wheel does with everything that a plan lists: ridden with the search, kept beside its plan."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Final

from damping_model.errors import ModelError
from optimiser.actions.ride_of_plan import PlanRidden, ride_plan
from optimiser.documents.wheel import PlanWheelDocument, WheelOfCandidate, WheelTrace, WheelWords
from optimiser.errors import InputError, ShimwrightError
from optimiser.files.base import read_text
from optimiser.jobs.planned import Planned
from optimiser.report.ladder_text import effort_words
from optimiser.report.ride_text import after_words, before_words, event_head, felt_words, is_felt, rests_on
from optimiser.report.unit_system import UnitSystem
from optimiser.ride.telling import Told

FILE: Final = "wheel.json"

MOST_POINTS: Final = 160
"""Of a trace that is kept: more than a small drawing shows."""


def ridden(
    planned: Planned, *, tell: Callable[[str], None], should_stop: Callable[[], bool]
) -> PlanWheelDocument | None:
    """Ride what a plan lists; None where it lists nothing.

    Parameters
    ----------
    planned : the plan.
    tell : hears how far it came.
    should_stop : asked after the first event; the events ridden by then are told.
    """
    if planned.answer is None or planned.shown is None:
        return None
    begun = 0

    def going_on(event: object) -> bool:
        nonlocal begun
        if begun and should_stop():
            return False
        begun += 1
        tell(f"riding: {getattr(event, 'name', '')}")
        return True

    try:
        found = ride_plan(planned, going_on=going_on)
    except (ShimwrightError, ModelError) as error:
        return PlanWheelDocument(unknown=str(error))
    first = found.ride.events[0]
    return PlanWheelDocument(
        corner=found.ride.corner,
        rest_m=round(first.before.figures.rest, 5),
        travel_m=round(first.before.figures.travel, 5),
        words={units.value: _words(found, units) for units in UnitSystem},
        before=_trace(first.before),
        traces=[_trace(told) for told in first.after],
        rungs=list(found.rungs),
        candidates=list(found.candidates),
    )


def wheel_of(folder: Path) -> PlanWheelDocument | None:
    """What the wheel does, as kept in a search's folder; None where nothing is, or it cannot be read."""
    with suppress(InputError, ValueError):
        kept = PlanWheelDocument.model_validate_json(read_text(folder / FILE, what="rides"))
        places = (*kept.rungs, *kept.candidates)
        return kept if all(0 <= place < len(kept.traces) for place in places) else None
    return None


def _words(found: PlanRidden, units: UnitSystem) -> WheelWords:
    ride, first = found.ride, found.ride.events[0]
    return WheelWords(
        event=event_head(first.event, units=units),
        before=before_words(first, units=units),
        assumes=first.event.assumes,
        rungs=[
            f"{effort_words(ride.steps[place].changes)}: {after_words(ride, first, place, units=units)}"
            for place in found.rungs
        ],
        candidates=[
            WheelOfCandidate(
                first=after_words(ride, first, place, units=units),
                felt=list(_felt(found, place, units)),
                summary=felt_words(ride, place),
            )
            for place in found.candidates
        ],
        rests_on=list(rests_on(ride)),
    )


def _felt(found: PlanRidden, place: int, units: UnitSystem) -> Iterator[str]:
    for event in found.ride.events[1:]:
        if is_felt(found.ride, event, place):
            yield f"{event.event.name}: {after_words(found.ride, event, place, units=units)}"


def _trace(told: Told) -> WheelTrace:
    step = max(told.times.size // MOST_POINTS, 1)
    return WheelTrace(
        times_s=[round(float(one), 4) for one in told.times[::step]],
        travel_m=[round(float(one), 5) for one in told.travel[::step]],
    )
