"""The main job, straight down: basics, goal, search."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from damping_model.damper import Damper
from damping_model.force import force_curve
from damping_model.stack import Stack
from damping_model.steel import SpringSteel
from damping_model.units import MILLIMETRE, kelvin
from optimiser.carried_job import carried_job_goal
from optimiser.damper_physics import DamperPhysics
from optimiser.errors import InputError
from optimiser.felt_in_job import felt_in
from optimiser.files.adjusters import adjusters_of
from optimiser.files.basics_ranges_file import read_ranges
from optimiser.files.damper_builder import damper_of
from optimiser.files.damper_file import StackSection
from optimiser.files.job_reader import LoadedJob, stack_named
from optimiser.files.stations import refuse_what_cannot_be_built, stack_of, station_of
from optimiser.files.symptoms_file import read_vocabulary
from optimiser.goal import Goal
from optimiser.intake.basics import check_basics
from optimiser.intake.brackets import with_brackets
from optimiser.intake.goal_builder import Forces
from optimiser.intake.grain import coarse_for
from optimiser.intake.job_goal import Asked, goal_for
from optimiser.intake.machine import Machine
from optimiser.intake.measured import sag_of
from optimiser.intake.own_record import StepTaken, with_own_record
from optimiser.intake.prediction import bands_of_both_strokes, predictor, reaches_across
from optimiser.plan import Answer
from optimiser.planning import Planned
from optimiser.search import Progress, solve
from optimiser.single_changes import single_changes


def plan_job(
    loaded: LoadedJob,
    *,
    record: Sequence[StepTaken] = (),
    override_reason: str | None = None,
    time_limit: float | None = None,
    progress: Callable[[Progress], None] | None = None,
    should_stop: Callable[[], bool] | None = None,
) -> Planned:
    """Plan a job.

    Parameters
    ----------
    loaded : what the files say.
    record : the shop's own steps, which set the first step for a symptom once enough of them helped.
    override_reason : why to go on although the basics are out of range; wins over the job's own.
    time_limit : give what stands after this long; wins over the job's own. [s]
    progress, should_stop : as the search takes them.

    Raises
    ------
    InputError
        When the files contradict one another.
    ModelError
        When the damper cannot be computed.
    """
    job = loaded.job
    section = stack_named(loaded.damper, job.work.stack, where=f"{loaded.path}: work.stack")
    refuse_what_cannot_be_built(loaded.damper, loaded.damper_path)
    old_stack = stack_of(section)
    machine, rider = loaded.bike.machine(), loaded.rider.rider()
    basics = job.basics.values()
    if override_reason is not None:
        basics = replace(basics, override_reason=override_reason)
    gate = check_basics(machine=machine, basics=basics, ranges=read_ranges())
    if not gate.passed:
        return Planned(loaded=loaded, gate=gate, section=section, old_stack=old_stack)

    damper, steel = damper_of(loaded.damper), SpringSteel()
    warm = job.work.temperature_c
    temperature = None if warm is None else kelvin(celsius=warm)

    def forces_at(clicks: Mapping[str, int]) -> Forces:
        return lambda velocities: (
            force_curve(
                damper, velocities=velocities, temperature=temperature, steel=steel, clicks=clicks
            ).resisting_force
        )

    adjusters, vocabulary = adjusters_of(loaded.damper), with_own_record(read_vocabulary(), record)
    gate = with_brackets(
        gate,
        adjusters=adjusters,
        notes=job.brackets.notes(),
        predict=predictor(forces_at=forces_at, bands=bands_of_both_strokes(tuple(vocabulary.bands.values()))),
    )
    least_height = max(old_stack.height - job.work.height_may_shrink_mm * MILLIMETRE, 0.0)
    most_height = min(
        old_stack.height + job.work.height_may_grow_mm * MILLIMETRE, section.room_mm * MILLIMETRE
    )
    if job.carry is not None:
        asked = carried_job_goal(
            job.carry,
            beside=loaded.path.parent,
            machine=machine,
            forces=forces_at({}),
            steel=steel,
            least_height=least_height,
            most_height=most_height,
        )
    else:
        asked = goal_for(
            _asked(loaded),
            vocabulary=vocabulary,
            machine=machine,
            rider=rider,
            sag=_sag(loaded, machine),
            forces=forces_at({}),
            across=reaches_across(forces_at=forces_at, adjusters=adjusters),
            least_height=least_height,
            most_height=most_height,
        )
    _refuse_beyond_the_promise(asked.goal, damper, temperature, steel)
    physics = DamperPhysics(
        damper,
        stack_name=section.name,
        velocities=asked.goal.velocities,
        temperature=temperature,
        steel=steel,
    )
    answer = solve(
        physics,
        stack=old_stack,
        station=station_of(section),
        stock=loaded.shelf.stock,
        goal=asked.goal,
        most_changes=job.work.most_changes,
        wanted=job.work.candidates,
        time_limit=time_limit or job.work.time_limit_s,
        should_stop=should_stop,
        progress=progress,
    )
    return Planned(
        loaded=loaded,
        gate=gate,
        section=section,
        old_stack=old_stack,
        asked=asked,
        settings=physics.settings,
        setting=physics.setting,
        answer=answer,
        felt_at=felt_in(loaded, vocabulary),
        advice=_advice(answer, physics, old_stack, section, loaded, asked.goal, should_stop),
    )


def _advice(
    answer: Answer,
    physics: DamperPhysics,
    stack: Stack,
    section: StackSection,
    loaded: LoadedJob,
    goal: Goal,
    should_stop: Callable[[], bool] | None,
) -> tuple[str, ...]:
    """What to do first when one change, and all that was allowed besides, are proven not to meet the goal."""
    if answer.candidates or answer.proven_too_few < 1:
        return ()
    grain = coarse_for(
        goal,
        stack=stack,
        changed=single_changes(stack, station=station_of(section), stock=loaded.shelf.stock),
        forces=lambda one: physics.forces(physics.packed(one), physics.setting),
        should_stop=should_stop,
    )
    return () if grain is None else (grain.said,)


def _sag(loaded: LoadedJob, machine: Machine) -> float | None:
    """Sag at the corner of the complaint, where it was measured. [m]"""
    name = loaded.job.complaint.corner
    measured = {corner.name: corner for corner in loaded.job.basics.values().corners}
    return sag_of(machine.corner(name), measured[name]) if name in measured else None


def _refuse_beyond_the_promise(
    goal: Goal, damper: Damper, temperature: float | None, steel: SpringSteel
) -> None:
    """Refuse a goal at velocities where oil would boil: the model promises nothing there."""
    curve = force_curve(damper, velocities=goal.velocities, temperature=temperature, steel=steel)
    for sign, limit, stroke in (
        (1, curve.cavitation[0], "compression"),
        (-1, curve.cavitation[1], "rebound"),
    ):
        for window in goal.windows:
            fastest = max(sign * velocity for velocity in window.velocities)
            if not math.isnan(limit) and fastest > limit:
                raise InputError(
                    f"band '{window.name}' goes to {fastest:g} m/s in {stroke}, expected at most "
                    f"{limit:.2g} m/s: beyond that the low side of '{damper.name}' falls to the oil's vapour "
                    "pressure and no figure can be promised. End the band earlier, or check the gas pressure "
                    "in the damper file."
                )


def _asked(loaded: LoadedJob) -> Asked:
    complaint = loaded.job.complaint
    familiarity = complaint.familiarity_percent
    return Asked(
        complaint=complaint.complaint(),
        event=None if complaint.event is None else complaint.event.asked(),
        targets=tuple(target.band() for target in loaded.job.target),
        holds=tuple(hold.band() for hold in loaded.job.hold),
        familiarity=None if familiarity is None else familiarity / 100,
    )
