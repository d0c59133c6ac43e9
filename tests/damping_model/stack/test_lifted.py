"""Shapes, presses and closing gaps of a lifted stack, and the stress in it."""

from __future__ import annotations

import numpy as np
import pytest

from damping_model.stack.lift import Seat, lift_curve
from damping_model.stack.lifted import contact_lines, gap_closures, lifted_shape
from damping_model.stack.packs import pack_stack
from damping_model.stack.stress import shim_stresses
from damping_model.stack.warm_up import is_compiled, warm_up
from tests.helpers.stacks import STEEL, pressed, seat_of, stack_of

SEAT, LOAD = seat_of(5, 9), pressed(5.5, 8.5, 9)


def test_shape_starts_flat_at_the_clamp_and_rises_to_the_rim() -> None:
    """Nothing moves at the clamp; a taper opens outwards."""
    plates = pack_stack(stack_of((20, 0.2), (16, 0.2), hole=9), clamp_radius=5e-3, steel=STEEL)
    curve = lift_curve(plates, seat=SEAT, load=LOAD, pressures=np.array([1e6]))
    for pack, rim in ((0, 10e-3), (1, 8e-3)):
        radius, lift = lifted_shape(curve, place=0, pack=pack)
        assert radius[0] == pytest.approx(5e-3)
        assert radius[-1] == pytest.approx(rim)
        assert lift[0] == 0
        assert (np.diff(lift) > 0).all()


def test_a_smaller_shim_presses_with_its_rim() -> None:
    """The greatest line force between two shims of a taper is at the rim of the smaller."""
    plates = pack_stack(stack_of((20, 0.2), (16, 0.2), hole=9), clamp_radius=5e-3, steel=STEEL)
    curve = lift_curve(plates, seat=SEAT, load=LOAD, pressures=np.array([1e6]))
    found = contact_lines(curve, place=0)
    assert found
    worst = max(found, key=lambda each: each.line_force)
    assert (worst.lower, worst.upper) == (0, 1)
    assert worst.radius == pytest.approx(8e-3)


def test_seat_carries_the_preload_before_it_opens() -> None:
    """Below the opening pressure the lip presses on the face shim, less and less as pressure rises."""
    seat = seat_of(5, 9, seat_height=0.1e-3)
    plates = pack_stack(stack_of((20, 0.2), hole=9), clamp_radius=5e-3, steel=STEEL)
    curve = lift_curve(plates, seat=seat, load=LOAD, pressures=np.array([0.0, 2e4, 1e6]))
    lip = [sum(p.line_force for p in contact_lines(curve, place=k) if p.lower == -1) for k in range(3)]
    assert lip[0] > lip[1] > lip[2] == 0


def test_a_gap_closes_at_the_pressure_where_the_faces_meet() -> None:
    """Just below the pressure given no point of the pair presses, just above one does, and the stack is stiffer."""
    plates = pack_stack(
        stack_of((20, 0.1), (20, 0.1), (12, 0.1), (18, 0.15), (14, 0.2), hole=9),
        clamp_radius=5e-3,
        steel=STEEL,
    )
    (closure,) = [gap for gap in gap_closures(plates, seat=SEAT, load=LOAD, highest=3e6) if gap.pressure]
    assert closure.gap == pytest.approx(0.1e-3)
    assert closure.pressure is not None
    assert closure.stiffness_before is not None
    assert closure.stiffness_after is not None
    assert closure.stiffness_after > 1.2 * closure.stiffness_before
    curve = lift_curve(plates, seat=SEAT, load=LOAD, pressures=closure.pressure * np.array([0.97, 1.03]))
    pair = [
        (p.lower, p.upper) == (closure.lower, closure.upper)
        for k in (0, 1)
        for p in contact_lines(curve, place=k)
    ]
    first = len(contact_lines(curve, place=0))
    assert not any(pair[:first])
    assert any(pair[first:])


def test_a_gap_too_wide_stays_open() -> None:
    """A gap that the highest pressure does not close is listed without a pressure."""
    plates = pack_stack(stack_of((20, 0.3), (12, 0.3), (18, 0.3), hole=9), clamp_radius=5e-3, steel=STEEL)
    (closure,) = gap_closures(plates, seat=SEAT, load=LOAD, highest=1e4)
    assert closure.pressure is None
    assert closure.stiffness_after is None


def test_stress_at_the_clamp_meets_the_handbook() -> None:
    """Small even pressure on a thin shim with a/b = 2: k2 = 1.0414, exact for the plate (printed 1.04).

    J. Carvill, Mechanical Engineer's Data Handbook (1993), p. 55, case 7; exact value from Roark's case 2l.
    """
    seat, stack = Seat(5e-3, 9.9e-3, has_seat=False), stack_of((20, 0.2), hole=9)
    plates = pack_stack(stack, clamp_radius=5e-3, steel=STEEL, thin=True)
    pressure = 1e3
    curve = lift_curve(plates, seat=seat, load=pressed(5, 10), pressures=np.array([pressure]), elements=60)
    (stress,) = shim_stresses(stack, plates, curve, steel=STEEL, place=0)
    assert stress.bending == pytest.approx(1.0414 * pressure * (10 / 0.2) ** 2, rel=2e-3)
    assert stress.radius == pytest.approx(5e-3)


def test_stress_of_large_lift_meets_the_exact_solution() -> None:
    """At q a^4/(E h^4) = 10 and b/a = 0.5: bending 9.6792, membrane 0.2460 in E h^2/a^2 at the clamp.

    From the Foppl-von Karman equations by scipy.integrate.solve_bvp; no published value was found.
    """
    seat, stack = Seat(5e-3, 9.9e-3, has_seat=False), stack_of((20, 0.2), hole=9)
    plates = pack_stack(stack, clamp_radius=5e-3, steel=STEEL, thin=True)
    unit = STEEL.youngs_modulus * (0.2 / 10) ** 2
    pressure = 10 * STEEL.youngs_modulus * (0.2 / 10) ** 4
    curve = lift_curve(plates, seat=seat, load=pressed(5, 10), pressures=np.array([pressure]), elements=80)
    (stress,) = shim_stresses(stack, plates, curve, steel=STEEL, place=0)
    assert stress.bending / unit == pytest.approx(9.6792, rel=2e-3)
    assert stress.membrane / unit == pytest.approx(0.2460, rel=5e-3)


def test_the_kernel_knows_that_it_is_compiled() -> None:
    """After a first call the compiled code is there."""
    warm_up()
    assert is_compiled()
