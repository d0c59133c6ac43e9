"""The stress of shims in sentences."""

from __future__ import annotations

from damping_model.stack.stack import Stack
from damping_model.units import BAR, MEGAPASCAL, MILLIMETRE
from optimiser.jobs.stress import StressCheck
from optimiser.model.answer import Candidate
from optimiser.model.percent import share_text
from optimiser.model.stock import ShimKey
from optimiser.model.stress import MORE_STRESS, StackStress


def verdict(stress: float, limit: float) -> str:
    """Whether a stress [Pa] is within its limit."""
    return f"{'within' if stress <= limit else 'over'} the limit of {limit / MEGAPASCAL:.0f} MPa"


def stress_words(check: StressCheck, candidate: Candidate, *, old: Stack) -> str:
    """The highest stress in a listed stack, against the limit and against the stack as it was."""
    limit, before, after = check.rule.limit, check.before, check.of(candidate)
    if after is None:
        return "Stress: no oil lifts this stack in the bands of the job."
    said = f"Highest stress: {_one(after, candidate.stack)}, {verdict(after.worst.von_mises, limit)}"
    if before is not None:
        said += f"; before {_one(before, old)}"
        if before.worst.von_mises > limit:
            said += f", over it too: a changed stack may stress a shim by {share_text(MORE_STRESS)} more"
    if check.rule.reason is not None:
        said += f". The limit was not kept to: {check.rule.reason.rstrip('.')}"
    return f"{said}."


def _one(stress: StackStress, stack: Stack) -> str:
    worst = stress.worst
    return (
        f"{worst.von_mises / MEGAPASCAL:.0f} MPa in shim {worst.shim} "
        f"({ShimKey.of(stack.shims[worst.shim - 1])}) at a radius of {worst.radius / MILLIMETRE:.1f} mm, "
        f"with a pressure drop of {stress.pressure / BAR:.3g} bar across the stack"
    )
