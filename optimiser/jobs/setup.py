"""A job set up for whoever answers it: the damper as physics, the goal, the shelf, the stack's place."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.boiling import Allowance, Boiling
from damping_model.damper.force import boiling_between, force_curve
from damping_model.errors import ModelError
from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from damping_model.stack.steel import SpringSteel
from optimiser.errors import InputError
from optimiser.intake.bands import SIGN, Stroke
from optimiser.intake.basics import GateResult
from optimiser.intake.brackets import adjusters_of, with_brackets
from optimiser.intake.goal_builder import Forces
from optimiser.intake.job_goal import JobGoal, goal_for
from optimiser.intake.measured import sag_of
from optimiser.intake.one_click import Turning
from optimiser.intake.own_record import StepTaken, with_own_record
from optimiser.intake.prediction import bands_of_both_strokes, predictor, reaches_across
from optimiser.intake.promise import NO_CHANGE, Boils, Change, boiling_words, remedy_words
from optimiser.jobs.carried import carried_job_goal
from optimiser.jobs.job import Job
from optimiser.jobs.job_basics import basics_of
from optimiser.jobs.ride_band import band_advice, instant_by_ride
from optimiser.model.damper_description import MountedStack
from optimiser.model.damper_physics import DamperPhysics
from optimiser.model.goal import Goal
from optimiser.model.other_parts import ChangedParts, PartChange, with_parts
from optimiser.model.problem import Problem
from optimiser.model.rules import Mounting
from optimiser.model.stock import Stock

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSetup:
    """A job set up, with everything that a search of its stack is asked with.

    Parameters
    ----------
    job : the job.
    gate : the basics, with what the adjusters can do.
    mounted : the stack that may change, as it is now, in its place.
    asked : the goal and how it came about.
    physics : the damper, with that stack open to change, at the goal's velocities.
    """

    job: Job
    gate: GateResult
    mounted: MountedStack
    asked: JobGoal
    physics: DamperPhysics

    @property
    def stack(self) -> Stack:
        """The stack as it is now, from the piston outwards."""
        return self.mounted.stack

    @property
    def mounting(self) -> Mounting:
        """The place that the stack is bolted to."""
        return self.mounted.mounting

    @property
    def stock(self) -> Stock:
        """What is free on the shelf."""
        return self.job.stock

    @property
    def problem(self) -> Problem:
        """What a search takes."""
        return Problem(
            physics=self.physics,
            stack=self.stack,
            mounting=self.mounting,
            stock=self.stock,
            goal=self.asked.goal,
        )

    @property
    def problem_afresh(self) -> Problem:
        """The same, asked of a model that remembers nothing of the search: for whoever judges its answer."""
        return replace(self.problem, physics=_physics(self.job, self.mounted, self.asked.goal))

    def forces(self, stack: Stack) -> Floats:
        """Damping force with another stack, as a force curve gives it (velocities,). [N]

        nan where there is none, or where something speaks against the stack, as oil that boils inside a band.
        """
        forces = self.computed_forces(stack)
        if not np.isfinite(forces).all():
            return forces
        against = self.physics.objection(stack, self.physics.setting)
        return forces if against is None else np.full(forces.size, np.nan)

    def computed_forces(self, stack: Stack) -> Floats:
        """The same whatever speaks against the stack: to compare how fine stacks are, promising nothing."""
        return self._answered(self.physics.forces, stack)

    def nothing_against(self, stack: Stack) -> bool:
        """Whether a search would list a stack that has these forces: as oil boils nowhere inside a band."""
        return bool(np.isfinite(self.forces(stack)).all())

    def coarse_forces(self, stack: Stack) -> Floats:
        """The same from the coarse estimate, which is fast. [N]"""
        return self._answered(self.physics.coarse_forces, stack)

    def _answered(self, forces: Callable[[PackedStack, int], Floats], stack: Stack) -> Floats:
        try:
            return forces(self.physics.packed(stack), self.physics.setting)
        except ModelError:
            return np.full(self.asked.goal.velocities.size, np.nan)


def stack_to_change(job: Job) -> MountedStack:
    """The stack that a job may change; every stack of the damper is held against the rules of building.

    Raises
    ------
    InputError
        When there is no such stack, or one cannot be built as it is written.
    """
    where = f"{job.path}: work.stack" if job.variant.stack is None else "--stack"
    mounted = job.damper.stack_named(job.work.stack, where=where)
    job.damper.refuse_what_cannot_be_built()
    return mounted


def set_up(
    job: Job,
    *,
    gate: GateResult | None = None,
    record: Sequence[StepTaken] = (),
    further: float = 0.0,
) -> JobSetup:
    """Set a job up for a search of its stack.

    Parameters
    ----------
    job : the job.
    gate : the basics, when they have been checked; see :func:`basics_of`.
    record : the shop's own steps, which set the first step for a symptom once enough of them helped.
    further : how far beyond the job's windows forces are asked for, as a share of the force before. [-]

    Raises
    ------
    InputError
        When the job contradicts itself, or names a stack that is not there or cannot be built.
    ModelError
        When the damper cannot be computed.
    """
    mounted, gate = stack_to_change(job), gate or basics_of(job)
    damper, stack, steel = job.damper.damper, mounted.stack, SpringSteel()
    temperature = job.work.temperature

    def forces_at(clicks: Mapping[str, int]) -> Forces:
        return lambda velocities: (
            force_curve(
                damper, velocities=velocities, temperature=temperature, steel=steel, clicks=clicks
            ).force_against_motion
        )

    def boils(stroke: Stroke, low: float, high: float, change: Change) -> tuple[Boiling, ...]:
        span = SIGN[stroke] * low, SIGN[stroke] * high
        allowance = Allowance(path=mounted.name, shares=change)
        return boiling_between(damper, span, temperature=temperature, steel=steel, allowance=allowance)

    adjusters, vocabulary = adjusters_of(damper), with_own_record(job.vocabulary, record)
    gate = with_brackets(
        gate,
        adjusters=adjusters,
        notes=job.notes,
        predict=predictor(forces_at=forces_at, bands=bands_of_both_strokes(tuple(vocabulary.bands.values()))),
    )
    least_height = max(stack.height - job.work.height_may_shrink, 0.0)
    most_height = min(stack.height + job.work.height_may_grow, mounted.mounting.most_height)
    if job.known_feel is not None:
        asked = carried_job_goal(
            job.known_feel,
            machine=job.machine,
            forces=forces_at({}),
            steel=steel,
            least_height=least_height,
            most_height=most_height,
        )
    else:
        asked = goal_for(
            job.asked,
            vocabulary=vocabulary,
            machine=job.machine,
            rider=job.rider,
            sag=_sag(job),
            forces=forces_at({}),
            across=reaches_across(forces_at=forces_at, adjusters=adjusters),
            boils=boils,
            turning=Turning(adjusters, forces_at),
            by_ride=instant_by_ride(job),
            least_height=least_height,
            most_height=most_height,
        )
        advice = band_advice(job)
        asked = asked if advice is None else replace(asked, reasons=(*asked.reasons, advice))
    _refuse_boiling(asked.goal, boils, damper.name)
    physics = _physics(job, mounted, asked.goal, further=further)
    return JobSetup(job=job, gate=gate, mounted=mounted, asked=asked, physics=physics)


def with_other_parts(setup: JobSetup, changes: tuple[PartChange, ...]) -> JobSetup:
    """The same goal asked of the damper with other parts.

    Parameters
    ----------
    setup : with the damper as it is now.
    changes : of its parts.

    Raises
    ------
    InputError
        When a stack cannot be built with them.
    ModelError
        When that damper cannot be computed.
    """
    damper = with_parts(setup.job.damper, changes)
    damper.refuse_what_cannot_be_built()
    job = replace(setup.job, damper=damper, parts=ChangedParts(changes, setup.job.damper))
    mounted = damper.stack_named(setup.mounted.name, where="")
    physics = _physics(job, mounted, setup.asked.goal)
    return replace(setup, job=job, mounted=mounted, physics=physics)


def shares_of(job: Job, goal: Goal) -> tuple[Floats, Floats]:
    """Least and most force that a goal asks for, as shares of what the job's damper has. [-]"""
    if job.parts is None:
        return goal.shares
    # The goal counts from the damper as it is now, the physics from the one with other parts.
    curve = force_curve(
        job.damper.damper,
        velocities=goal.velocities,
        temperature=job.work.temperature,
        steel=SpringSteel(),
    )
    forces = curve.force_against_motion
    known = forces > 0
    low, high = np.ones(forces.size), np.ones(forces.size)
    low[known], high[known] = goal.lower[known] / forces[known], goal.upper[known] / forces[known]
    return low, high


def _physics(job: Job, mounted: MountedStack, goal: Goal, *, further: float = 0.0) -> DamperPhysics:
    """The damper with a stack open to change, asked at a goal's velocities."""
    least, most = shares_of(job, goal)
    return DamperPhysics(
        job.damper.damper,
        stack_name=mounted.name,
        velocities=goal.velocities,
        temperature=job.work.temperature,
        steel=SpringSteel(),
        wanted=(least - further, most + further),
        spans=goal.spans,
        stress_limit=job.work.stress.kept,
    )


def _sag(job: Job) -> float | None:
    """Sag at the corner of the complaint, where it was measured. [m]"""
    name = job.asked.complaint.corner
    measured = {corner.name: corner for corner in job.basics.corners}
    return sag_of(job.machine.corner(name), measured[name]) if name in measured else None


def _refuse_boiling(goal: Goal, boils: Boils, damper: str) -> None:
    """Refuse a goal that asks for figures where oil would boil: the model promises nothing there."""
    for window, (slow, fast) in zip(goal.windows, goal.spans, strict=True):
        found = boils("compression" if fast > 0 else "rebound", abs(slow), abs(fast), NO_CHANGE)
        if found:
            where = "; ".join(boiling_words(one, to=abs(fast)) for one in found)
            raise InputError(
                f"band '{window.name}' goes from {abs(slow):g} to {abs(fast):g} m/s, and {where}, "
                f"in '{damper}' as it is (the pressure falls to the oil's vapour pressure): "
                f"no figure can be promised there. End the band earlier. {remedy_words(found)}"
            )
