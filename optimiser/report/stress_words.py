"""The stress of shims in sentences."""

from __future__ import annotations

from damping_model.stack.stack import Stack
from optimiser.jobs.stress import StressCheck
from optimiser.model.answer import Candidate
from optimiser.model.percent import share_text
from optimiser.model.stock import ShimKey
from optimiser.model.stress import MORE_STRESS, StackStress
from optimiser.report.unit_system import UnitSystem


def verdict(stress: float, limit: float, *, units: UnitSystem) -> str:
    """Whether a stress [Pa] is within its limit."""
    return f"{'within' if stress <= limit else 'over'} the limit of {units.stress_text(limit)}"


def stress_words(check: StressCheck, candidate: Candidate, *, old: Stack, units: UnitSystem) -> str:
    """The highest stress in a listed stack, against the limit and against the stack as it was."""
    limit, before, after = check.rule.limit, check.before, check.of(candidate)
    if after is None:
        return "Stress: no oil lifts this stack in the bands of the job."
    within = verdict(after.worst.von_mises, limit, units=units)
    said = f"Highest stress: {_one(after, candidate.stack, units)}, {within}"
    if before is not None:
        said += f"; before {_one(before, old, units)}"
        if before.worst.von_mises > limit:
            said += f", over it too: a changed stack may stress a shim by {share_text(MORE_STRESS)} more"
    if check.rule.reason is not None:
        said += f". The limit was not kept to: {check.rule.reason.rstrip('.')}"
    return f"{said}."


def _one(stress: StackStress, stack: Stack, units: UnitSystem) -> str:
    worst = stress.worst
    return (
        f"{units.stress_text(worst.von_mises)} in shim {worst.shim} "
        f"({ShimKey.of(stack.shims[worst.shim - 1])}) at a radius of {units.length_text(worst.radius)}, "
        f"with a pressure drop of {units.pressure_text(stress.pressure)} across the stack"
    )
