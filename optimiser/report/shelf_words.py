"""What comes from the shelf in words: how many of how many, and which, where shims were measured."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from optimiser.jobs.planned import Planned
from optimiser.model.answer import Candidate
from optimiser.model.band_result import band_result
from optimiser.model.percent import percent_text
from optimiser.model.taken import Taken


def shelf_text(one: Taken) -> str:
    """What a step uses of a drawer: ``17x0.10 (uses 1 of 4)``."""
    which = which_of_drawer(one)
    return f"{one.key} (uses {one.count} of {one.of}{f': {which}' if which else ''})"


def which_of_drawer(one: Taken) -> str:
    """Which single shims of a drawer to take, by what they measure; empty where any will do."""
    if one.nominal is not None:
        return f"a {one.nominal} that measures {one.key.thickness / 1000:.3f}"
    read = [f"{count} of {text}" if count > 1 else text for text, count in _alike(one.readings)]
    if not read:
        return ""
    others = one.count - len(one.readings)
    more = f" and {others} not measured" if others else ""
    return f"measuring {' and '.join(read)}{more}"


def _alike(readings: Iterable[int]) -> Iterable[tuple[str, int]]:
    return Counter(f"{reading / 1000:.3f}" for reading in readings).items()


def real_words(planned: Planned, candidate: Candidate) -> str | None:
    """What a candidate does with the measured shims that it is to be built of; None where none are."""
    real = planned.real.get(candidate)
    if real is None or planned.asked is None:
        return None
    said = []
    for window, part in planned.asked.goal.parts:
        planned_for = percent_text(band_result(window, candidate.forces[part]).mean)
        built = percent_text(band_result(window, real.forces[part]).mean)
        said.append(f"{window.name} {built}" + (f" ({planned_for} planned)" if built != planned_for else ""))
    return f"Built of the measured shims that are named: {', '.join(said)}, on average."
