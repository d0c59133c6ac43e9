"""What a plan does to the shims themselves: the highest stress before and with each stack that it lists."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from damping_model.stack.stack import Stack
from optimiser.jobs.ladder import LadderStep
from optimiser.model.answer import Answer, Candidate
from optimiser.model.damper_physics import DamperPhysics
from optimiser.model.ladder import folded_away
from optimiser.model.stress import StackStress, StressRule


@dataclass(frozen=True, slots=True)
class StressCheck:
    """The highest stress in the stack as it is and in those that an answer lists.

    Parameters
    ----------
    rule : what the search kept to.
    before : of the stack as it is; None where no oil lifts it.
    listed : of each listed stack, by stack and setting of the adjusters.
    """

    rule: StressRule
    before: StackStress | None
    listed: Mapping[tuple[Stack, int], StackStress | None]

    def of(self, candidate: Candidate) -> StackStress | None:
        """The highest stress in a listed stack; None where no oil lifts it."""
        return self.listed[candidate.stack, candidate.setting]


def stress_check(
    answer: Answer,
    physics: DamperPhysics,
    *,
    stack: Stack,
    rule: StressRule,
    ladder: Sequence[LadderStep] = (),
) -> StressCheck:
    """Work out the stresses that belong to an answer.

    Parameters
    ----------
    answer : its candidates and its nearest.
    physics : the damper.
    stack : as it is.
    rule : what the search kept to.
    ladder : the steps of effort, whose best stacks are listed too.
    """
    listed = [
        *answer.candidates,
        *folded_away(answer, [step.rung for step in ladder]),
        *filter(None, (answer.nearest,)),
        *(step.best for step in ladder),
    ]
    return StressCheck(
        rule,
        physics.worst_stress(stack, physics.setting),
        {(one.stack, one.setting): physics.worst_stress(one.stack, one.setting) for one in listed},
    )
