"""From shims to plates: neighbours that are equal bend as one."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from damping_model.errors import GeometryError
from damping_model.stack import Stack
from damping_model.steel import SPRING_STEEL, SpringSteel

SAME_RADIUS = 1e-7
"""Radii closer than this are one and the same. [m]"""


@dataclass(frozen=True, slots=True)
class Pack:
    """A plate, or several equal ones that move as one.

    The values are continuous: the bound of a whole family of stacks is a pack that no shelf could build, and a pack
    without stiffness is one that is not there.

    Parameters
    ----------
    outer_radius : radius of the rim. [m]
    bending : sum of the members' bending stiffnesses. [N m]
    stretching : sum of the members' stretching stiffnesses. [N/m]
    shear : sum of the members' transverse shear stiffnesses; infinite in the thin-plate limit. [N/m]
    height : sum of the members' thicknesses. [m]
    member : thickness of one member. [m]
    inner_radius : radius of the hole where that is larger than the clamp, as in a preload ring; else 0. [m]
    """

    outer_radius: float
    bending: float
    stretching: float
    shear: float
    height: float
    member: float
    inner_radius: float = 0.0


@dataclass(frozen=True, slots=True)
class PackedStack:
    """A stack as the plate solver sees it.

    Parameters
    ----------
    packs : from the piston outwards.
    steel : what they are made of.
    """

    packs: tuple[Pack, ...]
    steel: SpringSteel


def packed(stack: Stack, *, clamp_radius: float, steel: SpringSteel = SPRING_STEEL) -> PackedStack:
    """The packs that a stack amounts to.

    Neighbours of one diameter and one thickness share their deflection, so their stiffnesses add. Neighbours of one
    diameter and different thickness do not: their shares of bending and stretching differ, and with growing lift
    they part between their contacts. Merging them too would cost up to 4 % of lift, so they stay apart.

    Parameters
    ----------
    stack : shims from the piston outwards.
    clamp_radius : the circle that nothing moves inside of. [m]
    steel : what the shims are made of.

    Raises
    ------
    GeometryError
        When there is no shim, or none that reaches past the clamp, or a ring has nothing to centre it.
    """
    if not stack.shims:
        raise GeometryError("got a stack without shims, expected at least one: nothing closes the ports.")
    packs = []
    for shim, alike in groupby(stack.shims):
        count = len(list(alike))
        inner = shim.inner_diameter / 2
        packs.append(
            Pack(
                outer_radius=shim.outer_diameter / 2,
                bending=count * steel.bending_stiffness(thickness=shim.thickness),
                stretching=count * steel.stretching_stiffness(thickness=shim.thickness),
                shear=count * steel.shear_stiffness(thickness=shim.thickness),
                height=count * shim.thickness,
                member=shim.thickness,
                inner_radius=inner if inner > clamp_radius + SAME_RADIUS else 0.0,
            )
        )
    _rings_are_centred(packs)
    if packs[0].inner_radius or packs[0].outer_radius <= clamp_radius + SAME_RADIUS:
        raise GeometryError(
            f"got a first shim of {2e3 * packs[0].outer_radius:g} mm that is not held at the clamp of "
            f"{2e3 * clamp_radius:g} mm or does not reach past it, expected one that covers the ports."
        )
    return PackedStack(packs=tuple(packs), steel=steel)


def _rings_are_centred(packs: list[Pack]) -> None:
    for place, ring in enumerate(packs):
        if not ring.inner_radius:
            continue
        beside = [packs[near] for near in (place - 1, place + 1) if 0 <= near < len(packs)]
        if not any(0 < near.outer_radius <= ring.inner_radius + SAME_RADIUS for near in beside):
            raise GeometryError(
                f"got a ring of {2e3 * ring.outer_radius:g} mm with a hole of {2e3 * ring.inner_radius:g} mm and no "
                "shim that fits inside it before or after, expected a centring shim: put one beside the ring."
            )
