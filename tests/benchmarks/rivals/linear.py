"""CP-SAT on sensitivities alone, with the physics to check what comes out."""

from __future__ import annotations

from typing import Final

from damping_model.stack.stack import Stack
from optimiser.model.rules import violations
from tests.benchmarks.rivals.linear_model import LinearModel, Steps
from tests.benchmarks.rivals.question import Key, Question
from tests.benchmarks.rivals.recorder import Budget, End, Record
from tests.benchmarks.rivals.rival_evaluator import RivalEvaluator
from tests.benchmarks.rivals.sensitivities import Sensitivities, measured, with_steps
from tests.helpers.brute_force import Name

NAME = "CP-SAT on sensitivities"

WIDENED: Final = (0.0, 0.5, 1.0, 2.0, 4.0, 8.0)
"""Half-widths by which the windows are widened in turn: what adds up to a miss may yet be an answer. [-]"""


def run(question: Question, budget: Budget, *, target: Key | None) -> Record:
    """Ask the solver for steps, the physics for the truth, forbid them, and go on.

    Steps that break a rule together cost no run; the solver is then told of every set of shims out that
    breaks one beside those shims in. The windows are widened once nothing more seems to meet the goal. Since
    sums of effects are not forces, nothing that the solver says about all stacks is proven.
    """
    evaluator = RivalEvaluator(question, budget, target)

    def work() -> End:
        effects = measured(evaluator)
        forbidden: set[tuple[Steps, Steps]] = set()
        for widened in WIDENED if effects.outs or effects.ins else ():
            _through_one_width(evaluator, effects, widened, forbidden)
        return "gave up"

    return evaluator.record(NAME, work, proves=False)


def _through_one_width(
    evaluator: RivalEvaluator, effects: Sensitivities, widened: float, forbidden: set[tuple[Steps, Steps]]
) -> None:
    model = LinearModel(evaluator.question, effects, widened)
    for outs, ins in forbidden:
        model.forbid(outs, ins)
    most = evaluator.question.most_changes
    sets_of_outs = model.sets_of_outs()
    while True:
        found = len(evaluator.found[-1].candidate.changes) if evaluator.found else most
        if found < most:
            most = found
            model.at_most(most)
        steps = model.solved(evaluator.physics.seconds_left)
        evaluator.check_budget()
        if steps is None:
            return
        outs, ins = steps
        name = _name(evaluator, effects, outs, ins)
        broken: list[Steps] = []
        if evaluator.may_be_built(name):
            evaluator.evaluate(name)
        else:
            broken = [one for one in sets_of_outs if _breaks_rules(evaluator, effects, one, ins)]
        for one in {*broken, outs}:
            forbidden.add((one, ins))
            model.forbid(one, ins)


def _breaks_rules(evaluator: RivalEvaluator, effects: Sensitivities, outs: Steps, ins: Steps) -> bool:
    made = Stack(tuple(key.shim for key in _name(evaluator, effects, outs, ins)))
    return bool(violations(evaluator.question.rules, made, evaluator.question.mounting))


def _name(evaluator: RivalEvaluator, effects: Sensitivities, outs: Steps, ins: Steps) -> Name:
    leaving: list[int] = []
    for number in outs:
        # of several alike the first ones leave
        leaving.append(effects.outs[number].place + outs[: len(leaving)].count(number))
    coming = [(effects.ins[number].key, effects.ins[number].place) for number in ins]
    return with_steps(evaluator.old, leaving, coming)
