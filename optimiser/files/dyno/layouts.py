"""The two layouts of a dyno file: samples against time, and rows of velocity and force."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from optimiser.dyno.given import Floats, Given, Recording, VelocityTable
from optimiser.errors import InputError
from optimiser.files.dyno.columns import ColumnRole
from optimiser.files.dyno.pieces import Piece

AGREE: Final = 0.25
"""A velocity column and the displacement over time that differ by more contradict each other. [-]"""


def table_of(piece: Piece, given: Given, *, unfinished: bool) -> VelocityTable | None:
    """Rows of velocity and force; None for a run that has a clock or no velocity.

    Parameters
    ----------
    piece : rows of the run.
    given : what is said of it.
    unfinished : whether the file ends without the end of a line, so that the last figure may be cut off.

    Raises
    ------
    InputError
        When one of two columns of force is missing its velocity.
    """
    velocity = piece.of(ColumnRole.VELOCITY)
    if velocity is None or piece.of(ColumnRole.TIME) is not None:
        return None
    force = piece.of(ColumnRole.FORCE)
    one, other = piece.of(ColumnRole.COMPRESSION_FORCE), piece.of(ColumnRole.REBOUND_FORCE)
    if unfinished:
        said = "The file ends without the end of a line: its last figure may be cut off."
        given = replace(given, notes=(*given.notes, said))
    if force is not None:
        if (velocity >= 0).all() and (force < 0).any() and (force > 0).any():
            velocity, force, said = _by_force(velocity, force, given)
            given = replace(given, notes=(*given.notes, said))
        return VelocityTable(given=given, velocity=velocity, force=force, ends_cut=unfinished)
    speeds, forces, notes = [], [], []
    for sign, column, stroke in ((1.0, one, "compression"), (-1.0, other, "rebound")):
        if column is None:
            continue
        speeds.append(sign * np.abs(velocity))
        against = (sign * column < 0).all()
        forces.append(-column if against else column)
        notes.append(
            f"Forces of {stroke} stand in a column of their own"
            + (", without their sign; they are taken to act against the motion." if against else ".")
        )
    given = replace(given, notes=(*given.notes, *notes))
    return VelocityTable(
        given=given,
        velocity=np.concatenate(speeds),
        force=np.concatenate(forces),
        ends_cut=unfinished,
        strokes_named=True,
    )


def _by_force(velocity: Floats, force: Floats, given: Given) -> tuple[Floats, Floats, str]:
    """Velocities without a sign, in pairs: the row with the lesser force is rebound."""
    speeds, counts = np.unique(np.round(velocity, 6), return_counts=True)
    if not (counts == 2).all():
        raise InputError(
            f"{given.place}: all velocities are positive and some forces are not, expected every velocity "
            "twice, once a stroke. Write the velocities of rebound with a minus."
        )
    signed = velocity.copy()
    for speed in speeds:
        pair = np.flatnonzero(np.abs(velocity - speed) < 1e-6)
        signed[pair[int(np.argmin(force[pair]))]] *= -1
    return (
        signed,
        force,
        "Velocities have no sign: of each pair the row with the lesser force is taken as rebound.",
    )


def recording_of(piece: Piece, given: Given) -> Recording:
    """Samples of displacement and force.

    Raises
    ------
    InputError
        When a column is missing, or displacement and velocity contradict each other.
    """
    time, displacement = piece.of(ColumnRole.TIME), piece.of(ColumnRole.DISPLACEMENT)
    velocity, force = piece.of(ColumnRole.VELOCITY), piece.of(ColumnRole.FORCE)
    if force is None:
        raise InputError(
            f"{given.place}: got forces of the strokes in columns of their own without a velocity, "
            "expected a "
            'velocity beside them. Name it: --column "velocity=HEADER:UNIT".'
        )
    if displacement is None:
        if velocity is None or time is None:
            raise InputError(
                f"{given.place}: got force and time, expected displacement or velocity beside them. "
                'Name it: --column "displacement=HEADER:UNIT".'
            )
        _refuse_small(time, given)
        steps = (velocity[1:] + velocity[:-1]) / 2 * np.diff(time)
        displacement = np.concatenate([[0.0], np.cumsum(steps)])
        displacement = displacement - np.linspace(0.0, float(velocity.mean() * np.ptp(time)), time.size)
        said = "There is no displacement; it is the velocity added up over time, its mean taken off."
        given = replace(given, notes=(*given.notes, said))
    elif velocity is not None and time is not None and (np.diff(time) > 0).all():
        _refuse_contradiction(time, displacement, velocity, given)
    return Recording(given=given, time=time, displacement=displacement, force=force)


def _refuse_small(time: Floats, given: Given) -> None:
    if time.size < 2 or (np.diff(time) <= 0).any():
        raise InputError(
            f"{given.place}: time does not rise from row to row, expected it to. Check the column."
        )


def _refuse_contradiction(time: Floats, displacement: Floats, velocity: Floats, given: Given) -> None:
    if time.size < 20:
        return
    derived = float(np.percentile(np.abs(np.gradient(displacement, time)), 90))
    stated = float(np.percentile(np.abs(velocity), 90))
    if not derived * (1 - AGREE) <= stated <= derived * (1 + AGREE):
        raise InputError(
            f"{given.place}: the velocity column says {stated:.3g} m/s and displacement over time "
            f"{derived:.3g} m/s, expected both alike. One of the units is wrong: check them, and say them "
            "with --column."
        )
