"""Large pieces of the plate model that are compiled by themselves, so that two processes share the work."""

from __future__ import annotations

import inspect
from typing import Any, Final

import numba
import numpy as np

from damping_model.plates.contact import Contacts, Surroundings
from damping_model.plates.modified_newton import modified_newton
from damping_model.plates.newton import assemble_tangent, find_equilibrium
from damping_model.plates.pivoting import solve_contact
from damping_model.plates.plate import Plates, build_plates
from damping_model.plates.second_process import SecondProcess
from damping_model.plates.sensitivity import refine_sensitivity
from damping_model.plates.state import unstrained
from damping_model.plates.workspace import workspace

ELSEWHERE: Final[tuple[Any, ...]] = (solve_contact, refine_sensitivity, build_plates)
HERE: Final[tuple[Any, ...]] = (assemble_tangent, modified_newton, find_equilibrium)


def compile_elsewhere() -> None:
    """Compile the pieces that :func:`compile_here` waits for: what a second process is for."""
    for piece in ELSEWHERE:
        piece.compile(types_of(piece))


def compile_here(other: SecondProcess) -> None:
    """Compile the other pieces, and load those that a second process has compiled meanwhile."""
    for piece in HERE:
        if piece is find_equilibrium:  # it calls them
            other.wait_for(solve_contact, refine_sensitivity)
        piece.compile(types_of(piece))
    other.wait_for(build_plates)


def types_of(piece: Any) -> tuple[Any, ...]:
    """Types of a piece's arguments in a run, found by their names: what is not named here is a float."""
    samples = _samples()
    type_of: Any = numba.typeof
    return tuple(type_of(samples.get(name, 0.0)) for name in inspect.signature(piece.py_func).parameters)


def _samples() -> dict[str, Any]:
    """Arguments without meaning, each of the type that it has in a run."""
    floats = [np.zeros((1,) * dimensions) for dimensions in range(5)]
    ints = [np.zeros((1,) * dimensions, np.int64) for dimensions in range(3)]
    return {
        "state": unstrained(1, 1, 1),
        "work": workspace(1, 1, np.zeros((1, 4), np.int64), ints[1]),
        "contacts": Contacts(ints[2], floats[2], floats[2]),
        "plates": Plates(
            r=floats[1], present=ints[1], last=ints[1], face=0, stretching=floats[1],
            membrane_matrix=floats[3], stiff=floats[4], bare_face=floats[3], slope=floats[4],
            shear_angle=floats[3], load=floats[2], tilt=floats[3],
        ),
        "around": Surroundings(floats[2], *(0.0,) * 7),
        "packs": floats[2], "radii": floats[1], "shares": floats[1], "force": floats[1],
        "active": np.zeros(1, np.bool_), "present": ints[1], "last": ints[1],
        "count": 0, "thorough": True, "exact_slope": True,
    }  # fmt: skip
