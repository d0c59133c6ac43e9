"""What keeps shims from being made plates of: dimensions that are no lengths, a face that cannot bend."""

from __future__ import annotations

import math
from typing import Final

from damping_model.errors import GeometryError
from damping_model.stack.stack import Shim, Stack

SAME: Final = 1e-9
"""Radii closer than this are the same. [m]"""


def is_ring(shim: Shim, clamp_radius: float) -> bool:
    """Whether a shim's hole is wider than the clamp, so that it lies around its neighbour."""
    return shim.inner_diameter / 2 > clamp_radius + SAME


def _is_sound(shim: Shim) -> bool:
    sound = 0 <= shim.inner_diameter <= shim.outer_diameter < math.inf
    return sound and 0 <= shim.thickness < math.inf


def check_stack(stack: Stack, clamp_radius: float) -> None:
    """Raise GeometryError when a stack's dimensions are no lengths or its face shim could not bend."""
    if not (math.isfinite(clamp_radius) and clamp_radius > 0):
        raise GeometryError(f"got a clamp radius of {clamp_radius * 1e3:g} mm, expected more than 0.")
    if not stack.shims:
        raise GeometryError("got a stack without shims, expected at least the face shim.")
    if not all(map(_is_sound, stack.shims)):
        place, shim = next((i, shim) for i, shim in enumerate(stack.shims, 1) if not _is_sound(shim))
        raise GeometryError(
            f"shim {place}: got {shim.outer_diameter * 1e3:g}x{shim.thickness * 1e3:g} mm with a hole of "
            f"{shim.inner_diameter * 1e3:g} mm, expected no negative thickness and a hole "
            "within the rim."
        )
    face = stack.shims[0]
    if is_ring(face, clamp_radius):
        raise GeometryError(
            f"shim 1, the face shim, has a hole of {face.inner_diameter * 1e3:g} mm, wider than the clamp of "
            f"{2 * clamp_radius * 1e3:g} mm: nothing holds it. A ring belongs behind the face shim."
        )
    if face.outer_diameter / 2 <= clamp_radius + SAME:
        raise GeometryError(
            f"shim 1, the face shim, is {face.outer_diameter * 1e3:g} mm wide, expected more than the clamp "
            f"of {2 * clamp_radius * 1e3:g} mm: it could not bend."
        )
