"""Compiling the plate model ahead of the work, and whether that is done."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from damping_model.plates import code_cache
from damping_model.plates.continuation import equilibrium_path
from damping_model.plates.pieces import compile_here
from damping_model.plates.second_process import no_garbage_collection, second_process
from damping_model.stack.lift import FacePressure, LiftCurve, Seat, lift_curve
from damping_model.stack.packs import pack_stack
from damping_model.stack.stack import Shim, Stack
from damping_model.stack.steel import SpringSteel


def is_compiled() -> bool:
    """Whether compiled code is loaded, or lies on disk from an earlier run."""
    return code_cache.is_compiled(equilibrium_path)


def warm_up(*, beside: Sequence[str] = ()) -> LiftCurve:
    """Compile, or load what an earlier run compiled, by lifting one shim.

    Parameters
    ----------
    beside : functions, named ``module:name``, that compile something else and that a second process calls
        after its part of the plate model. They are not called where the plate model is compiled already.
    """
    if is_compiled():
        return _lift_one_shim()
    with (
        no_garbage_collection(),
        second_process("damping_model.plates.pieces:compile_elsewhere", *beside) as other,
    ):
        compile_here(other)
        return _lift_one_shim()


def _lift_one_shim() -> LiftCurve:
    stack = Stack((Shim(20e-3, 0.2e-3, 8e-3),))
    return lift_curve(
        pack_stack(stack, clamp_radius=5e-3, steel=SpringSteel()),
        seat=Seat(5e-3, 9e-3),
        load=FacePressure((6e-3, 8e-3), (1.0, 1.0)),
        pressures=np.array([1e5]),
    )
