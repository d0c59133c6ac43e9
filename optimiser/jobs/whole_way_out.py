"""What would do where nothing meets a job's goal over all stacks of its damper."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from typing import Final

import numpy as np

from optimiser.jobs.setup import JobSetup
from optimiser.jobs.way_out import LOOSENING_SHARE, LOOSENING_TIME, WayOut, in_the_way_of, seeking_way_out
from optimiser.jobs.whole_answer import as_answer, as_candidate, of_one_stack
from optimiser.model.answer import Answer
from optimiser.model.damper_answer import DamperAnswer
from optimiser.model.goal import Goal
from optimiser.model.open_stacks import DamperProblem
from optimiser.search import Control, Progress, TreeProgress
from optimiser.search.control import Stopped
from optimiser.search.evaluator import Evaluator
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.objections import Tolerant
from optimiser.several import solve_whole
from optimiser.several.one_change import OneChange
from optimiser.several.shares import MOST_CHANGES
from optimiser.several.sums import Sums
from optimiser.studies.loosenable import Loosenable, loosenable_windows
from optimiser.studies.loosening_objective import TIES, SmallestLoosenings
from optimiser.studies.loosenings import Loosening, Loosenings, loosenings

JUDGED: Final = 200
"""Pairs that are judged exactly for each window, those first that should need least. [-]"""

PAIR: Final = 2
"""Changes of a pair. [-]"""


def whole_way_out(
    setup: JobSetup, problem: DamperProblem, found: DamperAnswer, *, control: Control[Progress]
) -> WayOut:
    """What would do where nothing meets a job's goal in any of its stacks.

    Each stack is searched alone, and one change in each of two is gone through as far as time lets. More than
    one change of each of two stacks is not tried, so with three changes it is the smallest found.

    Parameters
    ----------
    setup : of the job, for one of the stacks.
    problem : the damper with all of them open.
    found : the answer without a candidate.
    control : of all of it together.
    """
    work, asked, goal = setup.job.work, setup.asked, problem.goal
    deadline, limit = control.deadline(), control.time_limit
    control = seeking_way_out(control, found.proven_too_few)
    loose = loosenable_windows(
        goal, targets=asked.targets, familiarity=asked.familiarity, right_way=asked.right_way
    )
    able = [place for place, one in enumerate(problem.open_stacks) if any(one.has_say)]
    time = LOOSENING_TIME if limit is None else min(LOOSENING_TIME, LOOSENING_SHARE * limit)
    settings = (setup.physics.middle,) if work.clickers_to_middle else None

    def report(tree: TreeProgress) -> None:
        open_ones, closed = tree.families_open, tree.families_closed
        control.report(Progress(work.most_changes, open_ones, closed, tree.evaluations, 0, 0))

    alone = {
        problem.open_stacks[place].name: loosenings(
            problem.alone(place),
            loose,
            most_changes=work.most_changes,
            settings=settings,
            control=replace(control, time_limit=time / (len(able) + 1)).reporting(report),
        )
        for place in able
    }
    pairs, every_pair = _NO_PAIRS
    if work.most_changes >= PAIR:
        share = replace(control, time_limit=time / (len(able) + 1))
        pairs, every_pair = _pairs(setup, problem, loose, able, control=share)
    through = every_pair and all(one.stopped is None for one in alone.values())
    known = () if found.nearest is None else in_the_way_of(goal, as_candidate(found.nearest, problem, setup))
    return WayOut(
        in_the_way=known,
        loosenings=tuple(_least(alone, pairs, setup, through=through)),
        all_tried=through and work.most_changes <= PAIR,
        one_more=_one_more(setup, problem, control.left(deadline)),
        more_say=(),
        met=None,
    )


def _least(
    alone: dict[str, Loosenings], pairs: Sequence[Loosening], setup: JobSetup, *, through: bool
) -> Iterator[Loosening]:
    """For each window and number of changes the smallest, where more changes need less."""
    every = [
        replace(
            one,
            candidate=of_one_stack(one.candidate, name, setup),
            proven=one.proven and through and one.changes <= PAIR,
        )
        for name, found in alone.items()
        for one in found.found
    ]
    listed: dict[tuple[str, str], float] = {}
    of_pairs = (replace(one, proven=through) for one in pairs)
    for one in sorted((*every, *of_pairs), key=lambda one: (one.changes, abs(one.value - one.present))):
        distance, window = abs(one.value - one.present), (one.name, one.kind.value)
        if distance < listed.get(window, np.inf) - TIES:
            listed[window] = distance
            yield one


def _pairs(
    setup: JobSetup,
    problem: DamperProblem,
    loose: Sequence[Loosenable],
    able: Sequence[int],
    *,
    control: Control[Progress],
) -> tuple[list[Loosening], bool]:
    """The smallest loosening of each window for one change in each of two stacks; whether all were tried."""
    goal, deadline = problem.goal, control.deadline()
    first = problem.open_stacks[0].physics
    before = Evaluator(first).exact_forces(first.packed(problem.present[0]), problem.setting)
    objective, tried = SmallestLoosenings(goal, loose), before is not None

    def wait() -> None:
        control.stop_if_asked(deadline)

    try:
        if before is None:
            return _NO_PAIRS
        lists = {
            place: OneChange(
                problem.open_stacks[place],
                stock=problem.beside(place, changes=1),
                evaluator=Evaluator(Tolerant(problem.open_stacks[place].physics), cores=control.cores),
                setting=problem.setting,
                before=before,
                widening=1.0,
                wait=wait,
            )
            for place in able
        }
        for pair in combinations(able, PAIR):
            if problem.go_together(*pair):
                both = [lists[place] for place in pair]
                for one in loose:
                    sums = Sums(GoalMetrics(_hull(goal, one)), before, both, pair, wait)
                    tried = _hold(sums, one, goal, problem, objective, setup) and tried
        tried = tried and all(one.off_margin <= 1 and not one.unanswered for one in lists.values())
    except Stopped:
        tried = False
    known = (one for one in loose if one.place in objective.best)
    found = [Loosening.known(one, objective, changes=PAIR, proven=False) for one in known]
    return found, tried


_NO_PAIRS: Final[tuple[list[Loosening], bool]] = ([], True)


def _hull(goal: Goal, one: Loosenable) -> Goal:
    """The goal with one window as wide as it may ever be."""
    return replace(
        goal, windows=(*goal.windows[: one.place], one.hull(np.inf), *goal.windows[one.place + 1 :])
    )


def _hold(
    sums: Sums,
    one: Loosenable,
    goal: Goal,
    problem: DamperProblem,
    objective: SmallestLoosenings,
    setup: JobSetup,
) -> bool:
    """Judge sums that may miss this window alone, those first that should need least; whether all were."""
    chosen = sums.left(GoalMetrics(_hull(goal, one)).limits_within(np.inf))
    part = goal.parts[one.place][1]
    coarse = sums.before + sums.coarse(chosen) if len(chosen) else np.zeros((0, sums.before.size))
    values = [one.closest(forces[part]) for forces in coarse]
    needs = np.array([np.inf if value is None else abs(value - one.present) for value in values])
    for number in np.argsort(needs, kind="stable").tolist()[:JUDGED]:
        row = chosen[number].tolist()
        stacks, forces = sums.stacks(row, problem.present), sums.exact(row)
        if forces is None or not problem.shelf_allows(stacks) or not objective.accepts(forces):
            continue
        if problem.whole.objection(stacks, problem.setting) is None:
            found = problem.candidate(stacks, setting=problem.setting, forces=forces)
            objective.record(as_candidate(found, problem, setup))
    return len(chosen) <= JUDGED


def _one_more(setup: JobSetup, problem: DamperProblem, control: Control[Progress]) -> Answer | None:
    """What one change more than the job allows does."""
    changes = setup.job.work.most_changes + 1
    if changes > MOST_CHANGES or control.stop_requested() or control.time_limit == 0:
        return None
    middle = setup.physics.middle if setup.job.work.clickers_to_middle else None
    found = solve_whole(problem, most_changes=changes, control=control, wanted=1, setting=middle)
    return as_answer(found, problem, setup)
