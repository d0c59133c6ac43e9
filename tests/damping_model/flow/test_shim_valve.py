"""A stack in its place whose shims are not as thick as they are called."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from damping_model.stack.stack import Shim, Stack
from damping_model.stack.steel import SpringSteel
from tests.helpers.random_dampers import random_shim_valve

VALVE = random_shim_valve(random.Random(3), "compression stack", direction=1, bore=30e-3)
HOLE = 2 * VALVE.seat.clamp_radius - 1e-3
RIM = 2 * VALVE.seat.seat_radius + 1e-3
STACK = Stack((Shim(RIM, 0.10e-3, HOLE), Shim(RIM, 0.15e-3, HOLE), Shim(RIM - 2e-3, 0.10e-3, HOLE)))


def test_shims_of_a_told_thickness_bend_as_thick_as_they_are_and_others_as_they_are_called() -> None:
    told = replace(VALVE, real_thicknesses=((0.10e-3, 0.106e-3),))
    as_called = VALVE.packed(STACK, steel=SpringSteel()).packs
    real = told.packed(STACK, steel=SpringSteel()).packs
    assert real[0].bending / as_called[0].bending == pytest.approx(1.06**3)
    assert real[1] == as_called[1]
    assert real[2].height == pytest.approx(0.106e-3)


def test_a_stack_as_it_is_keeps_rims_and_holes_and_the_valve_keeps_its_nominal_stack() -> None:
    told = replace(VALVE, stack=STACK, real_thicknesses=((0.15e-3, 0.1496e-3),))
    real = told.as_it_is(STACK)
    assert [(one.outer_diameter, one.inner_diameter) for one in real.shims] == [
        (one.outer_diameter, one.inner_diameter) for one in STACK.shims
    ]
    assert [one.thickness for one in real.shims] == [0.10e-3, 0.1496e-3, 0.10e-3]
    assert told.stack == STACK
    assert VALVE.as_it_is(STACK) is STACK
