"""A plan whose job says what else is at hand: with other parts, where those are the least work in range."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from damping_model.damper.force import force_curve
from damping_model.stack.steel import SpringSteel
from optimiser.allocation.real_shims import real_shims
from optimiser.intake.bands import SIGN
from optimiser.intake.goal_builder import BOTH_STROKES, FAMILIAR_SPAN
from optimiser.jobs.confidence import STATED_DRAWS, confidence_of
from optimiser.jobs.how_sure import how_sure
from optimiser.jobs.ladder import recommended
from optimiser.jobs.part_ladder import PartLadder
from optimiser.jobs.part_problem import OneStack
from optimiser.jobs.part_search import WithParts, with_parts_at_hand
from optimiser.jobs.planned import Planned
from optimiser.jobs.setup import JobSetup
from optimiser.jobs.sooner_boiling import boils_sooner
from optimiser.jobs.stress import stress_check
from optimiser.jobs.whole_parts import AllStacks
from optimiser.jobs.whole_planned import planned_over_all
from optimiser.model.answer import Answer, Candidate
from optimiser.model.damper_description import with_stack
from optimiser.model.percent import percent_text
from optimiser.search import Control, Progress
from optimiser.spread.spread import DRAWS

HOW_SURE: Final = (
    "How surely it does what is promised is worked out with the parts that come in as unknown as any other; "
    "the model's own error is taken as it is for shims, since no build with other parts was measured."
)

OWN_PARTS_ALONE: Final = (
    "What would do instead is looked for with the damper's own parts alone; so it is by 'reach', 'shop' and "
    "'resolution'."
)

POINTS: Final = 12
"""Velocities that the change of a whole stroke is averaged over, in equal ratios."""


def planned_with_parts(planned: Planned, setup: JobSetup, *, control: Control[Progress]) -> Planned:
    """The plan with the ladder of other parts; made of those where they are the least work in range.

    Parameters
    ----------
    planned : with the damper's own parts.
    setup : of its job.
    control : for the searches of all combinations.

    Raises
    ------
    InputError
        When the damper has no such part, or they are too many.
    """
    if planned.answer is None or not setup.job.at_hand:
        return planned
    level, own = setup.job.variant.confidence, OneStack(setup)
    plain, chosen = _with_own_parts(planned, planned.answer, own)
    found = with_parts_at_hand(own, plain=plain, chosen=chosen, control=control)
    ladder = _with_chances(found, planned, setup, control)
    if found.damper is None or found.answer is None:
        return _with_own_kept(planned, ladder)
    other, answer = found.damper.setup, found.answer
    real = {one: real_shims(other.problem, one) for one in answer.candidates if other.stock.readings}
    draws = DRAWS if level is None else STATED_DRAWS
    sure = how_sure(other, answer.candidates, should_stop=control.stop_requested, draws=draws, before=setup)
    return Planned(
        job=other.job,
        gate=planned.gate,
        mounted=other.mounted,
        asked=other.asked,
        settings=other.physics.settings,
        setting=other.physics.setting,
        answer=answer,
        felt_at=planned.felt_at,
        remarks=(
            *((HOW_SURE,) if sure.of_built else ()),
            *_free_strokes(setup, other, answer.candidates[0]),
            *boils_sooner(other, answer.candidates[0]),
        ),
        stress=stress_check(answer, other.physics, stack=other.stack, rule=other.job.work.stress),
        parts=ladder,
        sure=sure,
        confidence=None if level is None else confidence_of(answer, sure, level=level),
        real={one: shims for one, shims in real.items() if shims is not None},
    )


def planned_with_parts_over_all(
    planned: Planned, own: AllStacks, *, closed: bool, control: Control[Progress]
) -> Planned:
    """The same over all stacks of a damper.

    Parameters
    ----------
    planned : with the damper's own parts.
    own : the damper with those.
    closed : whether it is known that nothing with those takes less time than the least work in range of it.
    control : for the searches of all combinations.
    """
    if planned.answer is None or not own.setup.job.at_hand:
        return planned
    plain, chosen = _with_own_parts(planned, planned.answer, own)
    closed = closed and bool(plain.candidates)
    found = with_parts_at_hand(own, plain=plain, chosen=chosen, control=control, closed=closed)
    ladder = _with_chances(found, planned, own.setup, control, across=True)
    if found.damper is None or found.damper.found is None:
        return _with_own_kept(planned, ladder)
    made = planned_over_all(found.damper, found.damper.found, control=control, sure_ones=found.damper.found)
    assert made.shown is not None  # noqa: S101 - it has what is in range with the least work
    free = _free_strokes(own.setup, found.damper.setup, made.shown)
    sure = (HOW_SURE,) if made.sure.of_built else ()
    return replace(made, parts=ladder, remarks=(*made.remarks, *sure, *free))


def _with_own_parts(
    planned: Planned, plain: Answer, own: OneStack | AllStacks
) -> tuple[Answer, Candidate | None]:
    """What the damper's own parts do, and the least work of it that is in range or near enough."""
    if planned.confidence is not None and planned.confidence.reached:
        return plain, min(plain.candidates, key=own.time)
    if planned.job.variant.confidence is not None:
        if not plain.candidates:
            return plain, None
        # What the damper's own parts do is not sure enough: others may be, with more work.
        ruled_out = planned.confidence is not None and planned.confidence.proven
        too_few = plain.most_changes if ruled_out else -1
        return replace(plain, candidates=(), proven_too_few=too_few), None
    step = recommended(planned.ladder)
    near = [] if step is None else [step.step.best]
    return plain, min([*near, *plain.candidates], key=own.time, default=None)


def _with_own_kept(planned: Planned, ladder: PartLadder) -> Planned:
    """The plan with the damper's own parts, beside what others do."""
    said = () if ladder.least is not None else (OWN_PARTS_ALONE,)
    return replace(planned, parts=ladder, remarks=(*planned.remarks, *said))


def _with_chances(
    found: WithParts[OneStack] | WithParts[AllStacks],
    planned: Planned,
    setup: JobSetup,
    control: Control[Progress],
    *,
    across: bool = False,
) -> PartLadder:
    """The ladder with the chance of every step in range that is shown."""
    shown, steps = found.ladder.telling, []
    for step in found.ladder.steps:
        chance = None
        if step in shown and step.in_range and not step.changes:
            spread = planned.sure.of(step.best)
            chance = None if spread is None else spread.chance
        elif step in shown and step.in_range:
            sure = how_sure(
                found.dampers[step.changes].setup,
                [step.best],
                should_stop=control.stop_requested,
                across=across,
                before=setup,
            )
            spread = sure.of(step.best)
            chance = None if spread is None else spread.chance
        steps.append(replace(step, chance=chance))
    return replace(found.ladder, steps=tuple(steps))


def _free_strokes(setup: JobSetup, other: JobSetup, best: Candidate) -> Iterator[str]:
    """A sentence for a stroke that no band of the goal is in: other oil changes it all the same."""
    damper = with_stack(other.job.damper.damper, best.place or other.mounted.name, best.stack)
    for one in best.others:
        damper = with_stack(damper, one.name, one.stack)
    for stroke in BOTH_STROKES:
        if any(SIGN[stroke] * fast > 0 for _, fast in setup.asked.goal.spans):
            continue
        speeds = np.geomspace(*FAMILIAR_SPAN, POINTS)
        now, then = (
            force_curve(
                one,
                velocities=SIGN[stroke] * speeds,
                temperature=setup.job.work.temperature,
                clicks=clicks,
                steel=SpringSteel(),
            ).force_against_motion
            for one, clicks in (
                (setup.job.damper.damper, {}),
                (damper, other.physics.settings[best.setting]),
            )
        )
        change = float(np.exp(np.mean(np.log(then / now)))) - 1
        yield (
            f"No band is in {stroke}, and these parts change it too: by {percent_text(change)} on average "
            f"from {FAMILIAR_SPAN[0]:g} to {FAMILIAR_SPAN[1]:g} m/s. Ask for a band there, or turn its "
            "clicker back."
        )
