"""What clicks alone do where they do not meet the goal: how near they come, before a damper is opened."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from optimiser.model.answer import Answer, Candidate
from optimiser.model.band_result import BandResult, BandVerdict, band_result
from optimiser.model.goal import Goal, Role, Window


def clicks_alone(
    answer: Answer, goal: Goal, *, settings: Sequence[Mapping[str, int]], present: int
) -> str | None:
    """How near clicks come, in a sentence; None where they meet the goal or nothing can be turned.

    Parameters
    ----------
    answer : of the search.
    goal : what was asked.
    settings : positions of the adjusters, in clicks out from closed, by the numbers that candidates name.
    present : the setting that the damper is at.
    """
    one = answer.by_clicks
    if one is None or any(not candidate.changes for candidate in answer.candidates):
        return None
    moves = ", ".join(
        f"{name} {at} to {settings[one.setting][name]} out"
        for name, at in settings[present].items()
        if settings[one.setting][name] != at
    )
    results = list(_results(goal, one))
    verdict = max((result.verdict for _, result in results), key=list(BandVerdict).index)
    end = (
        " That is less than the model's own accuracy: ride it first, the damper stays closed."
        if verdict is BandVerdict.AT_THE_EDGE
        else ""
    )
    return f"Clicks alone come nearest with {moves}: {'; '.join(_words(results))}.{end}"


def _results(goal: Goal, one: Candidate) -> Iterator[tuple[Window, BandResult]]:
    for window, part in goal.parts:
        yield window, band_result(window, one.forces[part])


def _words(results: Sequence[tuple[Window, BandResult]]) -> Iterator[str]:
    """Every target, and every other band that is missed."""
    for window, result in results:
        if window.role is Role.TARGET:
            done = (
                f"'{window.name}' {result.mean:+.1%} on average ({result.least:+.1%} to {result.most:+.1%})"
            )
            yield f"{done}, {_out_by(result)}" if result.missed_by > 0 else done
        elif result.missed_by > 0:
            yield f"'{window.name}' is {_out_by(result)}"


def _out_by(result: BandResult) -> str:
    where = "" if result.missed_at is None else f" at {result.missed_at:.2g} m/s"
    return f"out by {100 * result.missed_by:.2g} points{where}"
