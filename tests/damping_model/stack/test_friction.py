"""Friction between shims: none without a coefficient, never more than stuck."""

from __future__ import annotations

import numpy as np
import pytest

from damping_model.errors import GeometryError
from damping_model.stack.friction import FrictionWidth, extra_load, friction_width
from damping_model.stack.lift import LiftCurve, lift_curve
from damping_model.stack.packs import pack_stack
from tests.helpers.stacks import STEEL, pressed, seat_of, stack_of

SEAT, LOAD = seat_of(5, 9), pressed(5.5, 8.5, 9)
PRESSURES = np.geomspace(1e5, 3e6, 5)


def lift_and_width(coefficient: float, *shims: tuple[float, float]) -> tuple[LiftCurve, FrictionWidth]:
    """Lift of a stack and what friction does to it."""
    plates = pack_stack(stack_of(*shims, hole=9), clamp_radius=SEAT.clamp_radius, steel=STEEL)
    curve = lift_curve(plates, seat=SEAT, load=LOAD, pressures=PRESSURES)
    return curve, friction_width(plates, curve, seat=SEAT, load=LOAD, coefficient=coefficient)


def test_without_friction_there_is_no_width() -> None:
    """At a coefficient of 0 both sides are the frictionless lift, to the last digit."""
    curve, width = lift_and_width(0.0, (20, 0.15), (20, 0.15), (16, 0.2))
    np.testing.assert_array_equal(width.rising, curve.seat_lift)
    np.testing.assert_array_equal(width.falling, curve.seat_lift)


def test_friction_never_holds_more_than_fully_stuck() -> None:
    """However great the coefficient, n equal shims lift no less than one solid plate of their whole height."""
    _, width = lift_and_width(100.0, *[(20, 0.15)] * 4)
    solid, _ = lift_and_width(0.0, (20, 0.60))
    np.testing.assert_allclose(width.rising[:2], solid.seat_lift[:2], rtol=0.05)
    assert (width.rising > 0.9 * solid.seat_lift).all()


def test_width_grows_with_the_coefficient_and_the_number_of_faces() -> None:
    """Small friction: twice the coefficient is twice the width; more and thinner shims rub more."""
    curve, once = lift_and_width(0.02, *[(20, 0.15)] * 3)
    _, twice = lift_and_width(0.04, *[(20, 0.15)] * 3)
    np.testing.assert_allclose(twice.rising - curve.seat_lift, 2 * (once.rising - curve.seat_lift), rtol=1e-9)
    more, many = lift_and_width(0.02, *[(20, 0.15)] * 6)
    assert (
        (many.falling - many.rising) / more.seat_lift > (once.falling - once.rising) / curve.seat_lift
    ).all()


def test_a_single_shim_does_not_rub() -> None:
    """One shim has no face to slide on."""
    curve, width = lift_and_width(0.15, (20, 0.2))
    np.testing.assert_allclose(width.rising, curve.seat_lift, rtol=1e-12)


def test_size_is_that_of_parallel_disc_springs() -> None:
    """Per face, oiled, a pack's extra force lies within the 0.2 to 3 % that parallel disc springs have.

    The range of EN 16984's factor wM over its series A to C, from memory; a supplier's manual says about 3 % a face.
    """
    curve, width = lift_and_width(0.1, *[(20, 0.2)] * 3)
    force = (curve.seat_lift - width.rising) / curve.seat_compliance / curve.pressures / 2
    assert ((force > 0.002) & (force < 0.03)).all()


def test_a_negative_coefficient_is_refused() -> None:
    """Friction gives nothing back."""
    with pytest.raises(GeometryError, match="expected 0 or more"):
        lift_and_width(-0.1, (20, 0.2))


def test_two_face_shims_at_an_interface_take_the_extra_load_that_is_named() -> None:
    """The share that `extra_load` names is what the pair's own lift says, and it is linear in the coefficient."""
    curve, width = lift_and_width(0.1, (20, 0.15), (20, 0.15))
    measured = (curve.seat_lift - width.rising)[0] / (curve.seat_compliance[0] * curve.pressures[0])
    face = stack_of((20, 0.15), hole=9).shims[0]
    named = extra_load(face=face, seat=SEAT, load=LOAD, steel=STEEL, coefficient=0.1)
    assert named == pytest.approx(measured)
    assert extra_load(face=face, seat=SEAT, load=LOAD, steel=STEEL, coefficient=0.05) == pytest.approx(
        named / 2
    )
