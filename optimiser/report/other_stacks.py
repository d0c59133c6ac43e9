"""The other stacks of a plan's damper on its sheet: those that change, and those that stay shut."""

from __future__ import annotations

from collections.abc import Iterator

from optimiser.jobs.planned import Planned
from optimiser.model.answer import Candidate
from optimiser.report.stack_to_build import Seating, StackToBuild


def other_stacks(planned: Planned, candidate: Candidate) -> Iterator[StackToBuild]:
    """The other stacks that change, be it by their ring alone."""
    places = {mounted.name: mounted for mounted in planned.job.damper.stacks}
    changed = {one.name: one for one in candidate.others}
    for mounted in planned.as_it_is.stacks:
        one, name = changed.get(mounted.name), mounted.name
        new = places[name].stack if one is None else one.stack
        if name == planned.mounted.name or new == mounted.stack:
            continue
        yield StackToBuild.of(
            name,
            () if one is None else one.changes,
            old=mounted.stack,
            new=new,
            seating=Seating.of(mounted.path, bore_radius=mounted.mounting.bore_radius),
            taken=planned.taken(candidate),
        )


def stays_shut(planned: Planned, candidate: Candidate) -> str:
    """Which stacks might have changed and need not be opened, in a sentence; empty for none."""
    names = planned.stays_shut(candidate)
    if len(names) in {0, len(planned.open_stacks)}:
        return ""
    return f"Need not be opened: {', '.join(names)}."
