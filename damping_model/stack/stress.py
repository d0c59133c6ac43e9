"""Stress in each shim of a lifted stack: bending, stretching, both together, and where."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.element import (
    curvature_shapes,
    grid_integrals,
    middle_strains,
    plate_elements,
    slope_shapes,
)
from damping_model.stack.lift import FacePressure, LiftCurve, Seat, lift_curve
from damping_model.stack.packs import RING, PackedStack
from damping_model.stack.stack import Stack
from damping_model.stack.steel import SpringSteel

Floats = NDArray[np.float64]

RISING: Final = np.array([0.1, 0.3, 1.0])
"""Shares of a pressure at which a stack is lifted on the way to it. [-]"""


@dataclass(frozen=True, slots=True)
class ShimStress:
    """Highest stress in one shim at one pressure.

    Parameters
    ----------
    shim : its place in the stack, 1 for the face shim.
    von_mises : of bending and membrane together, at the surface. [Pa]
    radius : where. [m]
    bending, membrane : radial stress there from each. [Pa]
    """

    shim: int
    von_mises: float
    radius: float
    bending: float
    membrane: float


@dataclass(frozen=True, slots=True)
class Strains:
    """Strains of one plate along its radius.

    Parameters
    ----------
    radius : element by element, both ends of each. [m]
    curvature_r, curvature_t : phi' and phi/r. [1/m]
    membrane_r, membrane_t : u' + w'^2/2 and u/r. [-]
    """

    radius: Floats
    curvature_r: Floats
    curvature_t: Floats
    membrane_r: Floats
    membrane_t: Floats


def strains(packed: PackedStack, curve: LiftCurve, *, place: int, pack: int) -> Strains:
    """Strains of a pack's middle at one of the curve's pressures, at both ends of every element.

    Parameters
    ----------
    packed : the stack as plates.
    curve : its answer.
    place : of the pressure in the curve.
    pack : place of a pack that has stiffness.
    """
    m = int(curve.last[pack])
    r, nu = curve.radii, packed.poisson_ratio
    bend, area = grid_integrals(r, nu)
    angle, slope = np.zeros((m, 4)), np.zeros((m, 2, 4))
    plate = packed.packs[pack]
    plate_elements(r, m, plate.bending, plate.shear, bend, area, np.zeros((m, 4, 4)), slope, angle)
    q = curve.states.q[place, pack]
    w_phi = np.concatenate([q[:m, :2], q[1 : m + 1, :2]], axis=1)
    shear = (angle * w_phi).sum(axis=1)
    length = np.diff(r[: m + 1])
    u1, u2 = q[:m, 2], q[1 : m + 1, 2]
    middle = _middle_of_u(r[: m + 1], nu, (slope * w_phi[:, None]).sum(axis=2), u1, u2)
    rows: list[list[Floats]] = [[], [], [], [], []]
    for x in (0.0, 1.0):
        shapes = np.array([slope_shapes(x, each) for each in length])
        tilt = (shapes[:, :4] * w_phi).sum(axis=1) + shapes[:, 4] * shear
        bends = np.array([curvature_shapes(x, each) for each in length])
        at = r[:m] + x * length
        rows[0].append(at)
        rows[1].append((bends[:, :4] * w_phi).sum(axis=1) + bends[:, 4] * shear)
        rows[2].append((tilt - shear) / at)
        rows[3].append((u2 - u1) / length + middle_strains(x, at, length)[0] * middle + 0.5 * tilt**2)
        rows[4].append((u1 if x == 0 else u2) / at)
    return Strains(*(np.stack(row, axis=1).ravel() for row in rows))


def shim_stresses(
    stack: Stack, packed: PackedStack, curve: LiftCurve, *, steel: SpringSteel, place: int
) -> tuple[ShimStress, ...]:
    r"""Highest stress in each shim that bends, at one of the curve's pressures.

    Parameters
    ----------
    stack : the shims.
    packed : what :func:`damping_model.stack.packs.pack_stack` made of them.
    curve : its answer.
    steel : what the shims are made of.
    place : of the pressure in the curve.

    Notes
    -----
    A shim of thickness t in a pack has the pack's strains: membrane stress
    :math:`E/(1-\nu^2)(e_r + \nu e_t)`, at its faces :math:`\pm E t/(2(1-\nu^2))(\phi' + \nu\phi/r)`
    more. The peak in the corner of the clamp, a matter of its fillet, is not in it.
    """
    found: list[ShimStress] = []
    at_pack: dict[int, Strains] = {}
    stiff = steel.youngs_modulus / (1 - steel.poisson_ratio**2)
    nu = steel.poisson_ratio
    for shim, pack in enumerate(packed.places):
        if pack == RING or curve.last[pack] == 0:
            continue
        if pack not in at_pack:
            at_pack[pack] = strains(packed, curve, place=place, pack=pack)
        s = at_pack[pack]
        half = stack.shims[shim].thickness / 2
        membrane = stiff * (s.membrane_r + nu * s.membrane_t), stiff * (s.membrane_t + nu * s.membrane_r)
        bending = (
            stiff * half * (s.curvature_r + nu * s.curvature_t),
            stiff * half * (s.curvature_t + nu * s.curvature_r),
        )
        faces = [
            von_mises(membrane[0] + sign * bending[0], membrane[1] + sign * bending[1]) for sign in (1, -1)
        ]
        worst = np.maximum(*faces)
        k = int(worst.argmax())
        found.append(
            ShimStress(
                shim + 1,
                float(worst[k]),
                float(s.radius[k]),
                float(abs(bending[0][k])),
                float(membrane[0][k]),
            )
        )
    return tuple(found)


def worst_stress(
    stack: Stack, packed: PackedStack, *, seat: Seat, load: FacePressure, pressure: float, steel: SpringSteel
) -> ShimStress | None:
    """The highest stress of all shims at one face pressure [Pa]; None where no shim bends.

    Parameters
    ----------
    stack, packed : the shims, and what :func:`damping_model.stack.packs.pack_stack` made of them.
    seat, load : as :func:`damping_model.stack.lift.lift_curve` takes them.
    steel : what the shims are made of.
    """
    ladder = pressure * RISING
    curve = lift_curve(packed, seat=seat, load=load, pressures=ladder)
    stresses = shim_stresses(stack, packed, curve, steel=steel, place=-1)
    return max(stresses, key=lambda one: one.von_mises, default=None)


def von_mises(radial: Floats, hoop: Floats) -> Floats:
    """Equivalent stress of a plane state without shear. [Pa]"""
    return np.sqrt(radial**2 - radial * hoop + hoop**2)


def _middle_of_u(r: Floats, nu: float, tilt: Floats, u1: Floats, u2: Floats) -> Floats:
    """Height of the parabola in u over its chord, which the assembly of the elements eliminates."""
    length = np.diff(r)
    above = below = np.zeros_like(length)
    for point, x in enumerate((0.5 - 0.5 / np.sqrt(3), 0.5 + 0.5 / np.sqrt(3))):
        at = r[:-1] + x * length
        e_r = (u2 - u1) / length + 0.5 * tilt[:, point] ** 2
        e_t = (u1 + x * (u2 - u1)) / at
        b_r, b_t = middle_strains(x, at, length)
        p_r, p_t = at * (b_r + nu * b_t), at * (b_t + nu * b_r)
        above = above - (p_r * e_r + p_t * e_t)
        below = below + p_r * b_r + p_t * b_t
    middle: Floats = above / below
    return middle
