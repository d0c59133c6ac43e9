"""What holds a stack beside its clamp: rings, a lip that stands proud, a washer behind it."""

from __future__ import annotations

import numpy as np
import pytest

from damping_model.stack.lift import lift_curve
from damping_model.stack.stack import Shim, Stack
from tests.helpers.stacks import (
    lifts,
    plates,
    pressed,
    seat_of,
    stack_of,
)


def test_a_ring_as_high_as_its_centring_shim_lies_between_a_lower_one_and_a_higher() -> None:
    """It presses on nothing at rest, and holds the face and what lies behind apart once the stack bends."""
    seat, load = seat_of(5, 9), pressed(5.5, 8.5, 9)
    centring = Shim(11.8e-3, 0.2e-3, 9e-3)
    face, rest = Shim(20e-3, 0.2e-3, 9e-3), Shim(19e-3, 0.2e-3, 9e-3)
    lower, level, higher = (
        lifts(plates(Stack((face, Shim(15e-3, height, 12e-3), centring, rest)), seat), seat, load).seat_lift
        for height in (0.1999e-3, 0.2e-3, 0.2001e-3)
    )
    assert (higher < level).all()
    assert (level < lower).all()


def test_a_higher_ring_holds_the_valve_shut_longer() -> None:
    """A ring proud of its centring shim presses the face shim on the seat: the higher, the later it opens."""
    seat, load = seat_of(5, 9), pressed(5.5, 8.5, 9)
    face, rest = Shim(20e-3, 0.2e-3, 9e-3), Shim(18e-3, 0.2e-3, 9e-3)
    pressures = np.geomspace(1e4, 3e6, 30)
    before = np.full(30, np.inf)
    for height in (0.20, 0.25, 0.30, 0.40):
        ring = Shim(15e-3, height * 1e-3, 12e-3)
        stack = plates(Stack((face, ring, Shim(11.8e-3, 0.2e-3, 9e-3), rest, rest)), seat)
        lift = lift_curve(stack, seat=seat, load=load, pressures=pressures).seat_lift
        assert (lift <= before + 1e-10).all()
        before = lift
    assert (before[:5] == 0).all()


def test_a_proud_seat_opens_late_and_a_low_one_stands_open() -> None:
    """The lip's height preloads the face shim, or leaves a gap below it."""
    load, stack = pressed(5.5, 8.5, 9), stack_of((20, 0.2), (18, 0.2), hole=9)
    packs = plates(stack, seat_of(5, 9))
    pressures = np.array([0.0, 1e4, 1e6])
    level, proud, low = (
        lift_curve(packs, seat=seat_of(5, 9, seat_height=height), load=load, pressures=pressures).seat_lift
        for height in (0.0, 0.1e-3, -0.1e-3)
    )
    assert (proud[:2] == 0).all()
    assert level[0] == 0
    assert low[0] == pytest.approx(0.1e-3)
    assert (proud < level).all() or (proud[1:] < level[1:]).all()


def test_a_backing_washer_stops_the_stack() -> None:
    """Past its clearance the washer carries the stack, which lifts less."""
    load, stack = pressed(5.5, 8.5, 9), stack_of((20, 0.2), (18, 0.2), hole=9)
    packs, pressures = plates(stack, seat_of(5, 9)), np.geomspace(1e5, 1e7, 8)
    free = lift_curve(packs, seat=seat_of(5, 9), load=load, pressures=pressures).seat_lift
    held = lift_curve(
        packs,
        seat=seat_of(5, 9, backing_radius=8e-3, backing_clearance=0.1e-3),
        load=load,
        pressures=pressures,
    ).seat_lift
    np.testing.assert_allclose(held[0], free[0], rtol=1e-3)
    assert (held <= free * (1 + 1e-3)).all()
    assert held[-1] < 0.9 * free[-1]
