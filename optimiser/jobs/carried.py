"""A job that carries a known feel over: the files that it names, turned into its goal."""

from __future__ import annotations

from pathlib import Path

from damping_model.damper.force import force_curve
from damping_model.stack.steel import SpringSteel
from optimiser.files.base import read_toml
from optimiser.files.bike_file import BikeFile
from optimiser.files.carry_section import CarrySection
from optimiser.files.damper_builder import damper_of
from optimiser.files.job_reader import read_damper
from optimiser.intake.carry_goal import carried_goal
from optimiser.intake.goal_builder import Forces
from optimiser.intake.job_goal import JobGoal
from optimiser.intake.machine import Machine


def carried_job_goal(
    carry: CarrySection,
    *,
    beside: Path,
    machine: Machine,
    forces: Forces,
    steel: SpringSteel,
    least_height: float,
    most_height: float,
) -> JobGoal:
    """The goal of a job whose damper is to feel as another one does on its own machine.

    Parameters
    ----------
    carry : the job's table.
    beside : the job file's folder.
    machine : the one to be tuned.
    forces : resisting forces [N] of its damper as it is, at signed shaft velocities [m/s].
    steel : of the shims.
    least_height, most_height : height range of the stack at rest. [m]

    Raises
    ------
    InputError
        When a file cannot be read, or a corner is not there.
    """
    known_machine = read_toml(beside / carry.known_bike, BikeFile, what="bike").machine()
    known_damper = damper_of(read_damper(beside / carry.known_damper))
    return carried_goal(
        bands=[band.band() for band in carry.band],
        known=known_machine.corner(carry.known_corner).leverage,
        known_forces=lambda velocities: (
            force_curve(known_damper, velocities=velocities, steel=steel).resisting_force
        ),
        new=machine.corner(carry.corner).leverage,
        new_forces=forces,
        least_height=least_height,
        most_height=most_height,
        stretch=carry.stretch,
    )
