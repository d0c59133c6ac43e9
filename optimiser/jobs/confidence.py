"""A plan that holds in most dampers built like this: searched, proven, and stated on fresh draws."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

from damping_model.errors import ModelError
from optimiser.jobs.how_sure import HowSure, drawn_forces, drawn_swap, how_sure, present_of
from optimiser.jobs.setup import JobSetup
from optimiser.model.answer import Answer, Candidate, Status
from optimiser.model.ladder import LadderRung
from optimiser.model.open_stacks import DamperProblem
from optimiser.model.problem import Problem
from optimiser.search import Control, Progress, climb, solve
from optimiser.spread.confident_physics import ConfidentDamper, ConfidentPhysics
from optimiser.spread.enough_chance import EnoughChance

CHOSEN_ON: Final = 1971
"""Seed of the sample that stacks are chosen by; they are stated on another."""

STATED_DRAWS: Final = 8192
"""Drawn dampers that the chance of a chosen stack is stated on. [-]"""

ONE_SIDED: Final = 1.645
"""Standard deviations by which a stated chance may be below the level by accident of its sample: 95 %. [-]"""


@dataclass(frozen=True, slots=True)
class Confidence:
    """What became of the wish that all limits hold in so many dampers built like this.

    Parameters
    ----------
    level : share of the dampers that was asked. [-]
    reached : whether the first candidate has it, on the fresh sample.
    changes : the fewest changes that have it, on the sample that stacks are chosen by; None where none was
        found.
    proven : whether fewer changes, or where none was found any within those allowed, are proven not to.
    unsure : stacks and settings that meet the goal and lack it, as many as were met on the way.
    surest : where it is not reached, of the stacks that meet the goal the one that keeps it most often.
    """

    level: float
    reached: bool
    changes: int | None
    proven: bool
    unsure: int
    surest: Candidate | None


class Confident(NamedTuple):
    """A plan after the search for a chance.

    Parameters
    ----------
    answer, rungs : those with the chance; where none has it, as they were.
    sure : of all that is shown.
    confidence : what became of the wish.
    """

    answer: Answer
    rungs: tuple[LadderRung, ...]
    sure: HowSure
    confidence: Confidence


def confident(
    setup: JobSetup,
    answer: Answer,
    rungs: Sequence[LadderRung],
    *,
    level: float,
    control: Control[Progress],
    before: JobSetup | None = None,
) -> Confident | None:
    """Look for the fewest changes that keep all limits in so many of the drawn dampers.

    Parameters
    ----------
    setup : of the job.
    answer, rungs : without asking for a chance, with at least one candidate.
    level : share of the drawn dampers. [-]
    control : ends it early when asked to; what was found by then stands.
    before : with the damper as it is now, where ``setup`` has other parts in it.

    Returns
    -------
    None where the damper cannot be drawn.
    """
    problem = with_chances(setup, level=level, before=before)
    if problem is None:
        return None
    work, physics = setup.job.work, setup.physics
    known = [one for rung in rungs for idea in rung.ideas for one in idea.every]
    found = solve(
        problem,
        most_changes=work.most_changes,
        control=control,
        wanted=work.candidates,
        settings=(physics.middle,) if work.clickers_to_middle else None,
        find_nearest=False,
        known=known,
    )
    found, climbed = climb(problem, found, known=known, wanted=work.candidates)
    shown = (*found.candidates, *answer.candidates, *(rung.best for rung in rungs if rung.best is not None))
    sure = how_sure(setup, shown, should_stop=control.stop_requested, draws=STATED_DRAWS, before=before)
    unsure = found.left_out.unsure
    if not found.candidates:
        surest = max(answer.candidates, key=lambda one: _chance(sure, one), default=None)
        proven = found.status is Status.PROVEN_IMPOSSIBLE
        return Confident(answer, tuple(rungs), sure, Confidence(level, False, None, proven, unsure, surest))
    changes = len(found.candidates[0].changes)
    below = tuple(rung for rung in rungs if rung.changes < changes)
    above = tuple(rung for rung in climbed if rung.changes >= changes)
    return Confident(found, below + above, sure, confidence_of(found, sure, level=level))


def with_chances(setup: JobSetup, *, level: float, before: JobSetup | None = None) -> Problem | None:
    """The problem of a set-up, whose stacks have to have a chance; None where the damper cannot be drawn."""
    try:
        forces = drawn_forces(setup) if before is None else drawn_swap(before, setup)
        chances = EnoughChance(
            forces,
            setup.asked.goal,
            present=present_of(setup if before is None else before, before=before is not None),
            level=level,
            model_uncertainty=setup.job.model_uncertainty,
            seed=CHOSEN_ON,
        )
    except ModelError:
        return None
    physics = ConfidentPhysics(setup.problem.physics, setup.asked.goal, chances)
    return replace(setup.problem, physics=physics)


def with_chances_of_all(
    problem: DamperProblem, setup: JobSetup, *, level: float, before: JobSetup | None = None
) -> DamperProblem | None:
    """The problem of a damper whose stacks together have to have a chance; None where it cannot be drawn.

    Parameters
    ----------
    problem : of the damper with several stacks open.
    setup : of the same job, for one of them.
    level : share of the drawn dampers. [-]
    before : with the damper as it is now, where ``setup`` has other parts in it.
    """
    try:
        chances = EnoughChance(
            drawn_forces(setup, across=True) if before is None else drawn_swap(before, setup, across=True),
            problem.goal,
            present=present_of(setup if before is None else before, before=before is not None),
            level=level,
            model_uncertainty=setup.job.model_uncertainty,
            seed=CHOSEN_ON,
        )
    except ModelError:
        return None
    open_stacks = tuple(
        replace(
            one,
            physics=ConfidentPhysics(
                one.physics,
                problem.goal,
                chances,
                name=one.name,
                beside=None if one.name == setup.mounted.name else setup.stack,
            ),
        )
        for one in problem.open_stacks
    )
    whole = ConfidentDamper(
        problem.whole,
        problem.goal,
        chances,
        names=[one.name for one in problem.open_stacks],
        own=setup.mounted.name,
    )
    return replace(problem, open_stacks=open_stacks, whole=whole)


def confidence_of(found: Answer, sure: HowSure, *, level: float) -> Confidence:
    """What became of the wish where something was found: its first candidate is held against fresh draws."""
    first = found.candidates[0]
    slack = ONE_SIDED * math.sqrt(level * (1 - level) / STATED_DRAWS)
    return Confidence(
        level,
        _chance(sure, first) >= level - slack,
        first.number_of_changes,
        found.status is Status.PROVEN_LEAST,
        found.left_out.unsure,
        None,
    )


def _chance(sure: HowSure, candidate: Candidate) -> float:
    spread = sure.of(candidate)
    return 0.0 if spread is None else spread.chance
