"""A whole curve rather than a shift: the stack from this shelf that fits it, one change after another.

Many changes at once are beyond a proof. Here each step is the best single change there is, or the best two
where no single one helps, as the search finds them; the work ends where every window is met or no step comes
nearer.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from damping_model.stack.stack import Stack
from optimiser.errors import InputError
from optimiser.model import rank
from optimiser.model.answer import NO_EFFORT, Answer, Candidate, Status
from optimiser.model.edits import keys_of
from optimiser.model.goal import Goal
from optimiser.model.objection import NONE_LEFT_OUT
from optimiser.model.rules import Mounting, violations
from optimiser.model.stock import ShimKey, Stock
from optimiser.model.unanswered import ALL_ANSWERED
from optimiser.search import Control, Problem, Progress, TreeProgress, explore
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.objections import Tolerant
from optimiser.search.objective import LeastMisfit
from optimiser.search.where_missed import where_missed

MOST_AT_ONCE = 2
"""Most changes of one step. [-]"""


def fit(problem: Problem, *, from_nothing: bool, control: Control[Progress] | None = None) -> Answer:
    """The stack that small steps lead to, each the one that comes nearest to the goal.

    Parameters
    ----------
    problem : as :func:`optimiser.search.solve` takes it. From nothing the stack may be lower than the goal's
        range of heights while it grows, and at the end: spacers fill up.
    from_nothing : start from a face shim and the shim at the clamp rather than from what is in the damper.
    control : likewise; the time limit is for each step.

    Returns
    -------
    Answer
        With one candidate when every window is met, else with the nearest stack. Steps from a stack that
        something speaks against may lead to others of that kind, which are never candidates. Nothing is
        proven of stacks that several changes at once lead to.

    Raises
    ------
    InputError
        When no shim covers the ports, or the model cannot answer for the stack to start from.
    """
    control = control or Control()
    stack, mounting, stock = problem.stack, problem.mounting, problem.stock
    goal = replace(problem.goal, least_height=0.0) if from_nothing else problem.goal
    problem = replace(problem, goal=goal, rules=problem.required_rules)
    metrics, everything = GoalMetrics(goal), Counter(keys_of(stack)) + Counter(dict(stock.counts))
    now = _least_stack(everything, stack, mounting) if from_nothing else stack
    if from_nothing and violations(problem.required_rules, now, mounting):
        raise InputError(
            "No shim of the shelf covers the ports and clears the bore, so no stack can begin. "
            "Check the hole and the diameters on the shelf."
        )
    best = _evaluated(problem, now)
    effort, left, steps, silent = NO_EFFORT, NONE_LEFT_OUT, 0, ALL_ANSWERED
    reason, changes = Status.BY_STEPS, 1
    while best.misfit > 0 and changes <= MOST_AT_ONCE:
        objective = LeastMisfit(metrics, best)
        asked = problem if best.objection is None else replace(problem, physics=Tolerant(problem.physics))
        rest = Stock(dict(everything - Counter(keys_of(best.stack))))
        done = explore(
            replace(asked, stack=best.stack, stock=rest),
            objective,
            most_changes=changes,
            control=control.reporting(_reported(control, steps, best, goal)),
        )
        effort, steps = effort + done.effort, steps + 1
        changes = 1 if objective.best.misfit < best.misfit else changes + 1
        best = _judged(problem, objective.best)
        left, silent = left + done.left_out, silent + done.unanswered
        reason = done.stopped or Status.BY_STEPS
        if reason is Status.INTERRUPTED:
            break
    final = rank.candidate(
        old=stack,
        new=best.stack,
        setting=best.setting,
        forces=np.asarray(best.forces),
        goal=goal,
        stock=stock,
    )
    final = replace(final, objection=best.objection)
    met = final.misfit == 0 and final.objection is None
    if met and reason is Status.BEST_SO_FAR:
        reason = Status.BY_STEPS  # a step that time cut short led there all the same
    listed = rank.with_reasons([final]) if met else ()
    return Answer(
        status=reason,
        candidates=listed,
        proven_too_few=-1,
        most_changes=len(final.changes),
        nearest=None if met else final,
        nearest_proven=False,
        effort=effort,
        left_out=left,
        unanswered=silent,
    )


def _least_stack(everything: Counter[ShimKey], stack: Stack, mounting: Mounting) -> Stack:
    """The thinnest shim that covers the ports, and what the stack ends on."""
    hole, clamp = keys_of(stack)[0].inner, keys_of(stack)[-1]
    faces = [
        key
        for key, count in everything.items()
        if count > 0
        and key.inner == hole
        and mounting.least_face_diameter - 1e-9 <= key.shim.outer_diameter < 2 * mounting.bore_radius
    ]
    face = min(faces, key=lambda key: (key.thickness, key.outer), default=clamp)
    return Stack((face.shim, clamp.shim))


def _evaluated(problem: Problem, stack: Stack) -> Candidate:
    physics = problem.physics
    one = rank.candidate(
        old=stack,
        new=stack,
        setting=physics.setting,
        forces=physics.forces(physics.packed(stack), physics.setting),
        goal=problem.goal,
        stock=problem.stock,
    )
    return _judged(problem, one)


def _judged(problem: Problem, one: Candidate) -> Candidate:
    """A stack with what speaks against it."""
    return replace(one, objection=problem.physics.objection(one.stack, one.setting))


def _reported(
    control: Control[Progress], steps: int, best: Candidate, goal: Goal
) -> Callable[[TreeProgress], None]:
    def report(tree: TreeProgress) -> None:
        control.report(
            Progress(
                steps + 1,
                tree.families_open,
                tree.families_closed,
                tree.evaluations,
                0,
                -1,
                missed=where_missed(goal, best.forces),
            )
        )

    return report
