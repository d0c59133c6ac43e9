"""A job that carries a known feel over, turned into its goal."""

from __future__ import annotations

from damping_model.damper.force import force_curve
from damping_model.stack.steel import SpringSteel
from optimiser.intake.carry_goal import carried_goal
from optimiser.intake.goal_builder import Forces
from optimiser.intake.job_goal import JobGoal
from optimiser.intake.machine import Machine
from optimiser.jobs.job import KnownFeel


def carried_job_goal(
    known: KnownFeel,
    *,
    machine: Machine,
    forces: Forces,
    steel: SpringSteel,
    least_height: float,
    most_height: float,
) -> JobGoal:
    """The goal of a job whose damper is to feel as another one does on its own machine.

    Parameters
    ----------
    known : the feel, and where it is known from.
    machine : the one to be tuned.
    forces : damping forces [N] of its damper as it is, at signed shaft velocities [m/s].
    steel : of the shims.
    least_height, most_height : height range of the stack at rest. [m]

    Raises
    ------
    InputError
        When a corner is not there, or the bands cannot be carried over.
    """
    return carried_goal(
        bands=known.bands,
        known=known.machine.corner(known.known_corner).leverage,
        known_forces=lambda velocities: (
            force_curve(known.damper, velocities=velocities, steel=steel).force_against_motion
        ),
        new=machine.corner(known.corner).leverage,
        new_forces=forces,
        least_height=least_height,
        most_height=most_height,
        stretch=known.stretch,
    )
