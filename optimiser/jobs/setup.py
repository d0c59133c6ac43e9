"""A job laid out for whoever answers it: the damper as physics, the goal, the shelf, the stack's place."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.damper import Damper
from damping_model.damper.force import force_curve
from damping_model.errors import ModelError
from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from damping_model.stack.steel import SpringSteel
from damping_model.units import MILLIMETRE, kelvin
from optimiser.errors import InputError
from optimiser.files.adjusters import adjusters_of
from optimiser.files.basics_ranges_file import read_ranges
from optimiser.files.damper_builder import damper_of
from optimiser.files.damper_file import StackSection
from optimiser.files.job_reader import LoadedJob, stack_named
from optimiser.files.mountings import mounting_of, refuse_what_cannot_be_built, stack_of
from optimiser.files.symptoms_file import read_vocabulary
from optimiser.intake.basics import GateResult, check_basics
from optimiser.intake.brackets import with_brackets
from optimiser.intake.complaint import Vocabulary
from optimiser.intake.goal_builder import Forces
from optimiser.intake.job_goal import Asked, JobGoal, goal_for
from optimiser.intake.machine import Machine
from optimiser.intake.measured import sag_of
from optimiser.intake.own_record import StepTaken, with_own_record
from optimiser.intake.prediction import bands_of_both_strokes, predictor, reaches_across
from optimiser.jobs.carried import carried_job_goal
from optimiser.model.damper_physics import DamperPhysics
from optimiser.model.goal import Goal
from optimiser.model.rules import Mounting
from optimiser.model.stock import Stock

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """A job laid out, with everything that a search of its stack is asked with.

    Parameters
    ----------
    loaded : what the files say.
    gate : the basics, with what the adjusters can do.
    section : the stack that may change, as the damper file has it.
    stack : the same as it is now, from the piston outwards.
    mounting : the place that it is bolted to.
    asked : the goal and how it came about.
    physics : the damper, with that stack open to change, at the goal's velocities.
    vocabulary : the shop's symptoms and bands.
    """

    loaded: LoadedJob
    gate: GateResult
    section: StackSection
    stack: Stack
    mounting: Mounting
    asked: JobGoal
    physics: DamperPhysics
    vocabulary: Vocabulary

    @property
    def stock(self) -> Stock:
        """What is free on the shelf."""
        return self.loaded.shelf.stock

    def forces(self, stack: Stack) -> Floats:
        """Resisting force with another stack, as a force curve gives it (velocities,); nan for none. [N]"""
        return self._answered(self.physics.forces, stack)

    def rough_forces(self, stack: Stack) -> Floats:
        """The same, fast and roughly. [N]"""
        return self._answered(self.physics.estimate, stack)

    def _answered(self, ask: Callable[[PackedStack, int], Floats], stack: Stack) -> Floats:
        try:
            return ask(self.physics.packed(stack), self.physics.setting)
        except ModelError:
            return np.full(self.asked.goal.velocities.size, np.nan)


def open_section(loaded: LoadedJob) -> StackSection:
    """The stack that a job may change; every stack of the damper is held against the rules of building.

    Raises
    ------
    InputError
        When there is no such stack, or one cannot be built as it is written.
    """
    section = stack_named(loaded.damper, loaded.job.work.stack, where=f"{loaded.path}: work.stack")
    refuse_what_cannot_be_built(loaded.damper, loaded.damper_path)
    return section


def basics_of(loaded: LoadedJob, *, override_reason: str | None = None) -> GateResult:
    """The basics of a job.

    Parameters
    ----------
    loaded : what the files say.
    override_reason : why to go on although they are out of range; wins over the job's own.
    """
    basics = loaded.job.basics.values()
    if override_reason is not None:
        basics = replace(basics, override_reason=override_reason)
    return check_basics(machine=loaded.bike.machine(), basics=basics, ranges=read_ranges())


def bench_for(
    loaded: LoadedJob,
    *,
    section: StackSection,
    gate: GateResult,
    record: Sequence[StepTaken] = (),
    further: float = 0.0,
) -> Bench:
    """Lay a job out.

    Parameters
    ----------
    loaded : what the files say.
    section : see :func:`open_section`.
    gate : see :func:`basics_of`.
    record : the shop's own steps, which set the first step for a symptom once enough of them helped.
    further : how far beyond the job's windows forces are asked for, as a share of the force before. [-]

    Raises
    ------
    InputError
        When the files contradict one another.
    ModelError
        When the damper cannot be computed.
    """
    job, stack, machine = loaded.job, stack_of(section), loaded.bike.machine()
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
    least_height = max(stack.height - job.work.height_may_shrink_mm * MILLIMETRE, 0.0)
    most_height = min(stack.height + job.work.height_may_grow_mm * MILLIMETRE, section.room_mm * MILLIMETRE)
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
            rider=loaded.rider.rider(),
            sag=_sag(loaded, machine),
            forces=forces_at({}),
            across=reaches_across(forces_at=forces_at, adjusters=adjusters),
            least_height=least_height,
            most_height=most_height,
        )
    _refuse_beyond_the_promise(asked.goal, damper, temperature, steel)
    least, most = asked.goal.shares
    physics = DamperPhysics(
        damper,
        stack_name=section.name,
        velocities=asked.goal.velocities,
        temperature=temperature,
        steel=steel,
        wanted=(least - further, most + further),
    )
    return Bench(
        loaded=loaded,
        gate=gate,
        section=section,
        stack=stack,
        mounting=mounting_of(section),
        asked=asked,
        physics=physics,
        vocabulary=vocabulary,
    )


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
