"""What may be built for a bare shift of one band when all that a catalogue sells lies on the shelf."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from damping_model.damper.force import force_curve
from damping_model.stack.steel import SpringSteel
from optimiser.intake.goal_builder import goal_from_bands
from optimiser.jobs.job import WorkOptions
from optimiser.jobs.season_ways import SeasonCase, SeasonFinding, SeasonWays, ways_of
from optimiser.jobs.shift import Shift
from optimiser.model.damper_physics import DamperPhysics
from optimiser.model.objection import Objection
from optimiser.model.problem import Problem
from optimiser.model.stock import ShimKey, Stock
from optimiser.search import Control, Progress


def shift_ways(
    shift: Shift,
    *,
    shelf: Mapping[ShimKey, int],
    sold: Sequence[ShimKey],
    control: Control[Progress],
    work: WorkOptions | None = None,
) -> SeasonWays:
    """Ways to move one band of a damper, as :func:`optimiser.jobs.season_ways.season_ways` has them of a job.

    Parameters
    ----------
    shift : what is asked.
    shelf, sold, control : likewise.
    work : what may be touched; as a job that says nothing about it when left out.

    Raises
    ------
    InputError
        When the band contradicts itself, or the stack cannot be built.
    FaultError
        When what was found does not hold as it is judged again.
    """
    work = work or WorkOptions()
    described, steel = shift.damper, SpringSteel()
    described.refuse_what_cannot_be_built()
    mounted = described.stack_named(shift.stack, where=shift.where)
    goal = goal_from_bands(
        targets=[shift.band],
        holds=[],
        familiarity=shift.elsewhere,
        forces=lambda velocities: (
            force_curve(described.damper, velocities=velocities, steel=steel).force_against_motion
        ),
        least_height=max(mounted.stack.height - work.height_may_shrink, 0.0),
        most_height=min(mounted.stack.height + work.height_may_grow, mounted.mounting.most_height),
    )

    def posed() -> Problem:
        physics = DamperPhysics(
            described.damper,
            stack_name=mounted.name,
            velocities=goal.velocities,
            temperature=None,
            steel=steel,
            wanted=goal.shares,
            spans=goal.spans,
            stress_limit=work.stress.kept,
        )
        return Problem(
            physics=physics, stack=mounted.stack, mounting=mounted.mounting, stock=Stock(shelf), goal=goal
        )

    problem = posed()
    if problem.physics.objection(mounted.stack, problem.physics.setting) is Objection.BOILS:
        return SeasonWays((), SeasonFinding.BOILS)
    case = SeasonCase(
        problem=problem,
        afresh=posed,
        most_changes=work.most_changes,
        where=shift.where,
    )
    return ways_of(case, sold=sold, control=control)
