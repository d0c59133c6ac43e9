"""The physics of a shim-valve damper: plates in contact, oil through gaps, force against velocity.

What scripts need is here by name; the rest lives in the folders. All quantities are in SI;
:mod:`damping_model.units` converts. Compression is positive.

>>> from damping_model import Shim, SpringSteel, Stack, pack_stack
>>> stack = Stack((Shim(20e-3, 0.10e-3, 8e-3), Shim(20e-3, 0.10e-3, 8e-3), Shim(16e-3, 0.15e-3, 8e-3)))
>>> packs = pack_stack(stack, clamp_radius=5e-3, steel=SpringSteel()).packs
>>> [pack.outer_radius for pack in packs]  # two shims alike make one plate
[0.01, 0.008]

A name is loaded when it is first asked for, so that ``import damping_model`` costs nothing. The first call
that lifts a stack in a fresh installation compiles, which takes about half a minute.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from damping_model.damper.curve import ForceCurve
    from damping_model.damper.damper import Chamber, Damper, Valve
    from damping_model.damper.force import force_curve
    from damping_model.errors import ConvergenceError, GeometryError, ModelError
    from damping_model.flow.oil import Oil, iso_vg
    from damping_model.flow.paths import Bleed, CheckPlate, Clicker, RingLeak
    from damping_model.flow.shim_valve import ShimValve
    from damping_model.stack.lift import FacePressure, LiftCurve, Seat, lift_curve
    from damping_model.stack.packs import PackedStack, pack_stack
    from damping_model.stack.stack import Shim, Stack
    from damping_model.stack.steel import SpringSteel

__all__ = [
    "Bleed",
    "Chamber",
    "CheckPlate",
    "Clicker",
    "ConvergenceError",
    "Damper",
    "FacePressure",
    "ForceCurve",
    "GeometryError",
    "LiftCurve",
    "ModelError",
    "Oil",
    "PackedStack",
    "RingLeak",
    "Seat",
    "Shim",
    "ShimValve",
    "SpringSteel",
    "Stack",
    "Valve",
    "force_curve",
    "iso_vg",
    "lift_curve",
    "pack_stack",
]

_HOMES: Final = {
    "damper.curve": ("ForceCurve",),
    "damper.damper": ("Chamber", "Damper", "Valve"),
    "damper.force": ("force_curve",),
    "errors": ("ConvergenceError", "GeometryError", "ModelError"),
    "flow.oil": ("Oil", "iso_vg"),
    "flow.paths": ("Bleed", "CheckPlate", "Clicker", "RingLeak"),
    "flow.shim_valve": ("ShimValve",),
    "stack.lift": ("FacePressure", "LiftCurve", "Seat", "lift_curve"),
    "stack.packs": ("PackedStack", "pack_stack"),
    "stack.stack": ("Shim", "Stack"),
    "stack.steel": ("SpringSteel",),
}


def __getattr__(name: str) -> Any:
    """Load a name from its module when it is first asked for."""
    for home, names in _HOMES.items():
        if name in names:
            value = getattr(import_module(f"{__name__}.{home}"), name)
            globals()[name] = value
            return value
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    """Names of the module, those not yet loaded among them."""
    return sorted({*globals(), *__all__})
