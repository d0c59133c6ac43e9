"""From an answer to its ladder: the best of each number of changes, and different ways to it.

The search stops at the fewest changes that meet a goal, and lists the closest. A person also wants to know
what less effort nearly does, what one more change would buy, and which other parts of the stack would do.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from optimiser.model import rank
from optimiser.model.answer import Answer, Candidate, Status
from optimiser.model.goal import Goal, Role, mean_change
from optimiser.model.ladder import LadderRung
from optimiser.model.problem import Problem
from optimiser.model.ways import folded
from optimiser.search.control import Control, Progress, Stopped
from optimiser.search.evaluator import Evaluator, log_of
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.idle_adjusters import without_idle_adjusters
from optimiser.search.objections import Objections
from optimiser.search.primal.different_ways import DifferentWays
from optimiser.search.space.members import Members
from optimiser.search.space.problem_data import problem_data
from optimiser.search.tree.roots import shapes
from optimiser.search.unchanged import unchanged_stack
from optimiser.search.warm_up import warm_up


class Ladder(NamedTuple):
    """An answer with its ladder.

    Parameters
    ----------
    answer : with one candidate for each way, those with the fewest changes first, the better aimed before
        the broader.
    rungs : from clicks alone upwards; clicks are left out where nothing can be turned.
    """

    answer: Answer
    rungs: tuple[LadderRung, ...]


def survey(
    problem: Problem,
    *,
    most_changes: int,
    setting: int | None = None,
    control: Control[Progress] | None = None,
) -> tuple[Candidate, ...]:
    """Stacks spread over the parts of the stack: those that meet the goal, and the nearest of each number.

    It ends with one change more than the fewest that meet the goal: more would be effort for nothing. Nothing
    is proven by it. A search begins from what it finds, and a ladder lists it.

    Parameters
    ----------
    problem : what is in the damper, what is on the shelf, and what is asked.
    most_changes : most shims out, in or swapped.
    setting : of the adjusters at which changed stacks are tried; when left out the present one, and others
        for what they spare.
    control : ends it early when asked to; what was found by then stands.

    Raises
    ------
    InputError
        When the stack in the damper breaks a rule itself, or the model has no answer for it.
    """
    control = control or Control()
    deadline = control.deadline()
    warm_up()
    evaluator, objections = Evaluator(problem.physics, cores=control.cores), Objections(problem.physics)
    as_it_is = unchanged_stack(evaluator, problem, objections)
    clicks = as_it_is.candidates
    physics = problem.physics
    alone = without_idle_adjusters(clicks, settings=physics.settings, present=physics.setting)
    found = {_name(one): one for one in alone}
    met = [one for one in alone if one.misfit == 0]
    ways = _different_ways(problem, evaluator, [*clicks, *as_it_is.unsure], setting=setting)
    with suppress(Stopped):
        for changes in range(1, most_changes + 1):
            control.stop_if_asked(deadline)
            least = next((len(one.changes) for one in met if objections.none_to(one)), changes)
            if changes > least + 1:
                break
            for one in ways.with_changes(changes, few=least < changes):
                candidate = problem.candidate(one.stack, setting=one.setting, forces=one.forces)
                found.setdefault(_name(candidate), candidate)
                if candidate.misfit == 0:
                    met.append(candidate)
    return tuple(found.values())


def climb(problem: Problem, answer: Answer, *, known: Sequence[Candidate], wanted: int) -> Ladder:
    """The ladder of a goal.

    Nothing but what the answer proves is proven. A stack that meets the goal with fewer changes because an
    adjuster is turned besides takes the place of the first candidate.

    Parameters
    ----------
    problem : that the answer answers.
    answer : of :func:`optimiser.search.solve.solve`.
    known : of :func:`survey`.
    wanted : how many candidates to list.
    """
    found = {_name(one): one for one in (*known, *answer.candidates)}
    return _rungs(problem, answer, list(found.values()), Objections(problem.physics), wanted=wanted)


def _rungs(
    problem: Problem, answer: Answer, found: list[Candidate], objections: Objections, *, wanted: int
) -> Ladder:
    """The ladder of all that was found, without what something else speaks against."""
    present = problem.physics.setting
    met = rank.in_order((one for one in found if one.misfit == 0), present=present)
    met = [one for one in met if objections.none_to(one)]
    missed = sorted((one for one in found if one.misfit > 0), key=lambda one: _nearness(one, problem.goal))
    if answer.nearest is not None and answer.nearest.changes:
        missed.insert(0, answer.nearest)
    missed = [one for one in missed if one.changes or one.setting != present]
    answer = _with_fewer(answer, met)
    ideas = folded(met, old=problem.stack, present=present)
    rungs: list[LadderRung] = []
    for changes in range(0 if len(problem.physics.settings) > 1 else 1, answer.most_changes + 1):
        own = tuple(idea for idea in ideas if len(idea.best.changes) == changes)
        closed = changes <= answer.proven_too_few or (bool(own) and _is_least(answer, changes))
        near = (one for one in missed if len(one.changes) == changes and objections.none_to(one))
        # few were tried of more changes than are needed, and the nearest of few says nothing
        enough = any(rung.in_range for rung in rungs)
        rungs.append(LadderRung(changes, own, None if own or enough else next(near, None), closed))
    listed = rank.with_reasons([idea.best for idea in ideas][:wanted])
    return Ladder(replace(answer, candidates=listed) if listed else answer, tuple(rungs))


def _different_ways(
    problem: Problem, evaluator: Evaluator, clicks: list[Candidate], *, setting: int | None
) -> DifferentWays:
    metrics, data = GoalMetrics(problem.goal), problem_data(problem, evaluator)
    at = problem.physics.setting if setting is None else setting
    turned = [one for one in clicks if one.setting != at] if setting is None else []
    return DifferentWays(
        shapes(data, evaluator, 1, relative_half_width=metrics.relative_half_width, setting=at)[0],
        old=problem.stack,
        evaluator=evaluator,
        metrics=metrics,
        setting=at,
        unchanged={one.setting: log_of(np.array(one.forces)) for one in turned},
        buildable=Members(data, problem.goal).buildable,
    )


def _with_fewer(answer: Answer, met: list[Candidate]) -> Answer:
    """The answer, should an adjuster turned besides spare a change."""
    if not met:
        return answer
    least = len(met[0].changes)
    if answer.candidates and least >= len(answer.candidates[0].changes):
        return answer
    proven = answer.proven_too_few >= least - 1
    unproven = Status.UNANSWERED if answer.unanswered else Status.BEST_SO_FAR
    return replace(
        answer,
        status=Status.PROVEN_LEAST if proven else unproven,
        candidates=tuple(met),
        proven_too_few=min(answer.proven_too_few, least - 1),
        nearest=None,
        nearest_proven=False,
        closest_proven=False,
    )


def _is_least(answer: Answer, changes: int) -> bool:
    return answer.status is Status.PROVEN_LEAST and changes == answer.proven_too_few + 1


def _nearness(one: Candidate, goal: Goal) -> tuple[bool, float, tuple[object, ...]]:
    """Nearest by misfit, of those that move every target the right way before any other."""
    forces = np.array(one.forces)
    wrong = any(
        float(mean_change(window, forces[part])) * float(mean_change(window, np.array(window.desired))) <= 0
        for window, part in goal.parts
        if window.role is Role.TARGET
    )
    return wrong, one.misfit, rank.closeness(one)


def _name(one: Candidate) -> tuple[object, ...]:
    return one.stack, one.setting
