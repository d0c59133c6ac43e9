"""How far each band of a job goes: with one stack, or with all stacks of its damper."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from optimiser.intake.basics import GateResult
from optimiser.intake.own_record import StepTaken
from optimiser.jobs.job import Job
from optimiser.jobs.setup import JobSetup, set_up
from optimiser.jobs.whole_answer import as_candidate, of_one_stack
from optimiser.jobs.whole_setup import named, set_up_at_work, whole_problem
from optimiser.model.answer import Status
from optimiser.model.objection import NONE_LEFT_OUT
from optimiser.search import Control
from optimiser.several.farthest_together import FarthestTogether
from optimiser.studies.farthest import LEAST, MOST, held_window
from optimiser.studies.reach import BandReach, End, Extent, Reach, ReachProgress, reach

PAIRED_FROM: Final = 2
"""Changes from which two stacks may share them; more than one change of each of two is not tried. [-]"""


@dataclass(frozen=True, slots=True)
class WholeReach:
    """How far each band goes over all stacks of a damper.

    Parameters
    ----------
    setup : of the job, for the stack that candidates are given for.
    together : the furthest of each stack alone, and of one change in each of two.
    each : every stack alone, all others as they are, by name, with its set-up.
    """

    setup: JobSetup
    together: Reach
    each: Mapping[str, tuple[JobSetup, Reach]]


def reach_of_job(setup: JobSetup, *, most_changes: int, control: Control[ReachProgress]) -> Reach:
    """How far each band of a job goes; see :func:`optimiser.studies.reach.reach`.

    The bands are those that the job lists; of a job in words, one instant or a known feel, all it came to.
    """
    asked = setup.job.asked
    return reach(
        setup.problem,
        bands=range(len(asked.targets) + len(asked.holds)) if asked.targets else None,
        most_changes=most_changes,
        control=control,
    )


def reach_of_all(
    job: Job,
    *,
    gate: GateResult,
    record: Sequence[StepTaken],
    most_changes: int,
    further: float,
    control: Control[ReachProgress],
) -> WholeReach:
    """How far each band goes with any stack of the damper, and with two at once.

    Of two stacks every pair of one change each is gone through, as sums of what they do. Three changes and
    more are those of one stack alone, so what goes further with them shared out is not ruled out: such ends
    are not called proven.

    Parameters
    ----------
    job : that names no stack.
    gate, record, further : as of :func:`optimiser.jobs.setup.set_up`.
    most_changes : of shims, over all stacks.
    control : the time limit holds for each band and number of changes of each stack, and of the pairs.
    """
    setup = set_up_at_work(job, gate=gate, record=record, further=further)
    each = {}
    for mounted in job.damper.stacks:
        one = set_up(named(job, mounted.name), gate=gate, record=record, further=further)
        each[mounted.name] = one, reach_of_job(one, most_changes=most_changes, control=control)
    goal = setup.asked.goal
    held = replace(goal, windows=tuple(held_window(window) for window in goal.windows))
    pairs = FarthestTogether(replace(whole_problem(setup, further=further), goal=held), control=control)
    places = {window.name: place for place, window in enumerate(goal.windows)}
    bands, left_out = [], NONE_LEFT_OUT
    first = next(iter(each.values()))[1]
    for number, band in enumerate(first.bands):
        alone = [(name, found.bands[number]) for name, (_, found) in each.items()]
        extents: list[Extent] = []
        shared: dict[int, End] = {}
        for changes, _ in enumerate(band.extents):
            ends = {}
            for side in (LEAST, MOST):
                end = _furthest(alone, changes, side, setup)
                if changes >= PAIRED_FROM and side not in shared:
                    pair = pairs.end(places[band.window.name], side, known=end.shift)
                    left_out += pair.left_out
                    by = end.candidate
                    if pair.best is not None:
                        by = as_candidate(pair.best, pairs.problem, setup)
                    shared[side] = End(by, pair.shift, pair.proven)
                if side in shared:
                    proven = end.proven and shared[side].proven and changes == PAIRED_FROM
                    alone_is_best = side * (end.shift - shared[side].shift) > 0
                    end = replace(end if alone_is_best else shared[side], proven=proven)
                ends[side] = end
            extents.append(Extent(changes, ends[LEAST], ends[MOST]))
        bands.append(BandReach(band.window, band.wanted, tuple(extents)))
    stops = {found.stopped for _, found in each.values()} - {None}
    together = replace(
        first,
        bands=tuple(bands),
        stopped=Status.INTERRUPTED if Status.INTERRUPTED in stops else next(iter(stops), None),
        left_out=sum((found.left_out for _, found in each.values()), left_out),
    )
    return WholeReach(setup, together, each)


def _furthest(alone: Sequence[tuple[str, BandReach]], changes: int, side: int, setup: JobSetup) -> End:
    """The furthest end of any stack alone; proven where all of them are."""
    ends = [
        (name, extent.least if side == LEAST else extent.most)
        for name, band in alone
        for extent in (band.extents[changes],)
    ]
    name, best = max(ends, key=lambda one: side * one[1].shift)
    return End(of_one_stack(best.candidate, name, setup), best.shift, all(end.proven for _, end in ends))
