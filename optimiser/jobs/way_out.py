"""When nothing meets a job's goal: what stands in the way, and what would do, one at a time."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from optimiser.jobs.finer_steps import MOST_CHANGES, first_within
from optimiser.jobs.job import Job
from optimiser.jobs.ladder import Judged, judged
from optimiser.jobs.more_say import MoreSay, stacks_with_more_say
from optimiser.jobs.setup import JobSetup
from optimiser.jobs.variant import Variant, command_line
from optimiser.model.answer import Answer, Candidate
from optimiser.model.goal import Goal
from optimiser.search import Control, Progress, TreeProgress
from optimiser.search.control import Phase
from optimiser.search.where_missed import where_missed
from optimiser.studies.loosenable import Kind, loosenable_windows
from optimiser.studies.loosenings import Loosening, loosenings

LOOSENING_TIME: Final = 10.0
"""How long loosenings are looked for: a search that was in vain should still end in half a minute. [s]"""

LOOSENING_SHARE: Final = 0.7
"""Of what is left of a time limit, so that one change more can be tried as well. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOut:
    """What would do where nothing meets the goal.

    Parameters
    ----------
    in_the_way : windows that the nearest stack misses, the worst first.
    loosenings : each of which would do.
    all_tried : whether nothing else that loosens one band alone would do with as few changes.
    one_more : what one change more than the job allows does; None where it was not tried.
    more_say : stacks that have more say in a target than the one that may change.
    met : a stack that meets the goal after all, should one turn up.
    """

    in_the_way: tuple[Judged, ...]
    loosenings: tuple[Loosening, ...]
    all_tried: bool
    one_more: Answer | None
    more_say: tuple[MoreSay, ...]
    met: Candidate | None

    @property
    def with_one_more(self) -> Candidate | None:
        """A stack of one change more than the job allows that meets the goal; None when none was found."""
        return None if self.one_more is None else next(iter(self.one_more.candidates), None)


def way_out(
    setup: JobSetup, answer: Answer, *, known: Sequence[Candidate], control: Control[Progress]
) -> WayOut:
    """What would do where nothing meets a job's goal.

    Parameters
    ----------
    setup : the job.
    answer : of the search, without a candidate.
    known : stacks that come near, to begin from.
    control : interruption, progress, cores, and what is left of the time.
    """
    work, goal, asked = setup.job.work, setup.asked.goal, setup.asked
    control = seeking_way_out(control, answer.proven_too_few)
    deadline, limit = control.deadline(), control.time_limit
    found = loosenings(
        setup.problem,
        loosenable_windows(
            goal, targets=asked.targets, familiarity=asked.familiarity, right_way=asked.right_way
        ),
        most_changes=work.most_changes,
        settings=(setup.physics.middle,) if work.clickers_to_middle else None,
        known=[one for one in known if one.changes],
        control=replace(
            control,
            time_limit=min(LOOSENING_TIME, LOOSENING_TIME if limit is None else LOOSENING_SHARE * limit),
        ).reporting(_reporting(control, work.most_changes, answer, goal)),
    )
    left = None if deadline is None else max(deadline - time.monotonic(), 0.0)
    return WayOut(
        in_the_way=() if answer.nearest is None else in_the_way_of(goal, answer.nearest),
        loosenings=found.found,
        all_tried=found.stopped is None,
        one_more=_one_more(setup, replace(control, time_limit=left)),
        more_say=stacks_with_more_say(setup),
        met=found.met,
    )


def seeking_way_out(control: Control[Progress], too_few: int) -> Control[Progress]:
    """The same control, whose progress says what is proven too few and that a way out is looked for."""

    def report(now: Progress) -> None:
        control.report(replace(now, phase=Phase.WAY_OUT, proven_too_few=too_few))

    return control.reporting(report)


def loosened(job: Job, one: Loosening) -> Variant:
    """The variant of a job with a window loosened."""
    variant = job.variant
    share = {one.name: float(one.figure) / 100}
    fewer = one.changes if one.changes < job.work.most_changes else variant.most_changes
    if one.kind is Kind.SHIFT:
        return replace(variant, shifts={**variant.shifts, **share}, most_changes=fewer)
    return replace(variant, tolerances={**variant.tolerances, **share}, most_changes=fewer)


def typed(job: Job, variant: Variant, *, override: str | None, command: str = "plan") -> str:
    """What is typed to plan a variant of a job.

    Parameters
    ----------
    job : as it was planned.
    variant : of it.
    override : why this plan went on although the basics are out of range; None when they are not.
    command : which goes on from there.
    """
    said = override is not None and override != job.basics.override_reason
    return command_line(command, job.path, variant, override=override if said else None)


def in_the_way_of(goal: Goal, nearest: Candidate) -> tuple[Judged, ...]:
    """Windows that a stack misses, the worst first."""
    missed = [one for one in judged(goal, nearest) if one[1].missed_by > 0]
    return tuple(sorted(missed, key=lambda one: -one[1].missed_by))


def _reporting(
    control: Control[Progress], changes: int, answer: Answer, goal: Goal
) -> Callable[[TreeProgress], None]:
    """Tell how far loosenings are as a part of the search that they belong to."""
    missed = None if answer.nearest is None else where_missed(goal, answer.nearest.forces)

    def report(tree: TreeProgress) -> None:
        control.report(
            Progress(
                changes=changes,
                families_open=tree.families_open,
                families_closed=answer.effort.families + tree.families_closed,
                evaluations=answer.effort.evaluations + tree.evaluations,
                found=0,
                proven_too_few=answer.proven_too_few,
                missed=missed,
            )
        )

    return report


def _one_more(setup: JobSetup, control: Control[Progress]) -> Answer | None:
    changes = setup.job.work.most_changes + 1
    if changes > MOST_CHANGES or control.stop_requested():
        return None
    return first_within(setup, changes, control)
