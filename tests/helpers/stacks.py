"""Stacks for tests: random ones that a tuner could bolt together, wild ones, and short ways to write one down."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.lift import FacePressure, LiftCurve, Seat, lift_curve
from damping_model.stack.packs import Merge, PackedStack, pack_stack
from damping_model.stack.stack import Shim, Stack
from damping_model.stack.steel import SpringSteel

STEEL = SpringSteel()
THICKNESSES = (0.05, 0.10, 0.15, 0.20, 0.25, 0.30)
HIGHEST = 20e6
"""More than dampers see. [Pa]"""
Job = tuple[Stack, Seat, FacePressure]


def stack_of(*shims: tuple[float, float], hole: float) -> Stack:
    """Stack of (outer diameter, thickness) in millimetres."""
    return Stack(tuple(Shim(od * 1e-3, t * 1e-3, hole * 1e-3) for od, t in shims))


def seat_of(clamp: float, seat: float, **more: Any) -> Seat:
    """Seat from radii in millimetres."""
    return Seat(clamp * 1e-3, seat * 1e-3, **more)


def pressed(inner: float, outer: float, end: float | None = None) -> FacePressure:
    """Even pressure from one radius to another in millimetres, falling off to nothing at ``end``."""
    if end is None:
        return FacePressure((inner * 1e-3, outer * 1e-3), (1.0, 1.0))
    return FacePressure((inner * 1e-3, outer * 1e-3, end * 1e-3), (1.0, 1.0, 0.0))


def pressures_for(packed: PackedStack, seat: Seat, count: int) -> NDArray[np.float64]:
    """Pressures that lift the stack from next to nothing to several tenths of a millimetre, up to 200 bar."""
    wide = [pack for pack in packed.packs if pack.outer_radius > seat.clamp_radius]
    width = packed.packs[0].outer_radius - seat.clamp_radius
    most = min(HIGHEST, 6e-3 * sum(pack.bending for pack in wide) / width**4)
    return np.geomspace(0.03 * most, most, count)


def random_stack(rng: random.Random, *, crossovers: bool) -> Job:
    """Taper of one or two stages from the shelf, with crossovers or without, on a seat or free."""
    clamp = rng.choice((4, 4.5, 5, 6, 7, 8, 9, 10))
    rim = clamp + rng.randint(4, 12)
    width = rim - clamp
    shims = [(2 * rim, rng.choice(THICKNESSES))] * rng.randint(1, 7)
    at = rim - rng.choice((0.5, 1.0))
    for _ in range(rng.randint(1, 2) if crossovers else 1):
        if crossovers and rng.random() < 0.7:
            shims.append((2 * round(clamp + rng.uniform(0.05, 0.5) * width, 1), rng.choice(THICKNESSES[:3])))
            at = rim - rng.choice((0.0, 0.5, 1.0, 2.0))
        for _ in range(rng.randint(1, 9)):
            shims += [(2 * at, rng.choice(THICKNESSES))] * rng.randint(1, 3)
            at -= rng.choice((0.5, 1.0, 1.5))
            if at <= clamp:
                break
    seat = clamp + rng.uniform(0.7, 0.95) * width
    return (
        stack_of(*shims, hole=clamp),
        Seat(
            clamp * 1e-3,
            seat * 1e-3,
            seat_height=rng.choice((0.0, 0.0, 0.05e-3)),
            has_seat=rng.random() < 0.7,
        ),
        pressed(clamp + rng.uniform(0.1, 0.3) * width, seat - rng.uniform(0.02, 0.15) * width, seat),
    )


def wild_stack(rng: random.Random) -> Job:
    """Like a random stack, but shuffled, ringed, backed, proud of the hub or below it, or not fit to bolt together."""
    stack, seat, load = random_stack(rng, crossovers=rng.random() < 0.8)
    shims = list(stack.shims)
    if rng.random() < 0.15:
        rng.shuffle(shims)
    if rng.random() < 0.2:
        clamp = 2 * seat.clamp_radius
        hole, height = clamp + rng.choice((1e-3, 3e-3)), rng.choice(THICKNESSES) * 1e-3
        centring = max(0.05e-3, height - rng.choice((0.0, 0.05e-3, 0.1e-3)))
        place = rng.randint(1, len(shims))
        shims[place:place] = [Shim(hole + 2e-3, height, hole), Shim(hole - 0.2e-3, centring, 0.9 * clamp)]
    if rng.random() < 0.02:
        shims[rng.randrange(len(shims))] = Shim(
            rng.uniform(0, 50e-3), rng.uniform(0, 1e-3), rng.uniform(0, 30e-3)
        )
    seat = Seat(
        seat.clamp_radius,
        seat.seat_radius,
        seat_height=rng.choice((0.0, 0.0, 0.05e-3, 0.15e-3, -0.05e-3)),
        has_seat=seat.has_seat,
        backing_radius=rng.choice((0.0, 0.0, seat.clamp_radius + 2e-3)),
        backing_clearance=rng.choice((0.0, 0.1e-3, 0.4e-3)),
    )
    return Stack(tuple(shims)), seat, load


def plates(stack: Stack, seat: Seat, *, merge: Merge = "thickness", thin: bool = False) -> PackedStack:
    """The stack as plates of the tests' steel."""
    return pack_stack(stack, clamp_radius=seat.clamp_radius, steel=STEEL, merge=merge, thin=thin)


def lifts(packed_stack: PackedStack, seat: Seat, load: FacePressure, count: int = 4) -> LiftCurve:
    """Lift at a few pressures from next to nothing to full lift."""
    pressures = pressures_for(packed_stack, seat, count)
    return lift_curve(packed_stack, seat=seat, load=load, pressures=pressures)


def shares_apart(one: LiftCurve, other: LiftCurve) -> float:
    """Greatest difference in lift, as a share of it or of a tenth of a micrometre."""
    return float((np.abs(one.seat_lift - other.seat_lift) / np.maximum(one.seat_lift, 1e-7)).max())
