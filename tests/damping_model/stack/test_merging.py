"""Shims as one plate or each for itself, and in any order: what that may change of the lift."""

from __future__ import annotations

import random

import numpy as np
import pytest

from damping_model.stack.lift import lift_curve
from damping_model.stack.packs import Pack
from tests.helpers.stacks import (
    lifts,
    plates,
    pressed,
    pressures_for,
    random_stack,
    seat_of,
    shares_apart,
    stack_of,
)


def test_merged_packs_equal_unmerged_ones_in_the_thin_limit() -> None:
    """Equal neighbours are one plate, to 1e-6 of the lift, and as single shims none of them pulls on the next.

    Single shims that are alike are held to one another there, so that nothing pulls is what makes them a pack.
    """
    rng = random.Random(1)
    for _ in range(24):
        stack, seat, load = random_stack(rng, crossovers=True)
        merged, single = (plates(stack, seat, merge=merge, thin=True) for merge in ("thickness", "none"))
        pressures = pressures_for(merged, seat, 2)
        one, other = (
            lift_curve(each, seat=seat, load=load, pressures=pressures, softness=1e-11, tolerance=1e-7)
            for each in (merged, single)
        )
        assert shares_apart(one, other) < 1e-6
        # where two nodes nearly meet, as marked radii may, rounding alone is some millionths
        assert other.states.force.min() > -1e-5 * other.states.force.max()


def test_merging_costs_little_beyond_the_thin_limit() -> None:
    """With finite thickness merging moves the lift by under 0.1 % in most stacks, under 0.5 % in nine of ten.

    The worst of these, a single 0.05 on thick packs, is past 1 %.
    """
    rng = random.Random(2)
    apart = []
    for _ in range(60):
        stack, seat, load = random_stack(rng, crossovers=True)
        merged = lifts(plates(stack, seat), seat, load)
        single = lift_curve(
            plates(stack, seat, merge="none"), seat=seat, load=load, pressures=merged.pressures
        )
        scale = np.maximum(merged.seat_lift, 1e-6) + seat.seat_height
        apart.append((np.abs(single.seat_lift - merged.seat_lift) / scale).max())
    assert np.quantile(apart, 0.5) < 1e-3
    assert np.quantile(apart, 0.9) < 5e-3
    assert max(apart) < 2e-2


def test_order_within_a_merged_diameter_is_free() -> None:
    """Merged by diameter, the shims of a run may lie in any order: they make the same plate."""
    shims = [(20, 0.10), (20, 0.20), (20, 0.15)]
    one = plates(stack_of(*shims, (14, 0.2), hole=9), seat_of(5, 9), merge="diameter")
    other = plates(stack_of(*shims[::-1], (14, 0.2), hole=9), seat_of(5, 9), merge="diameter")
    assert len(one.packs) == len(other.packs) == 2
    for name in ("outer_radius", "bending", "stretching", "shear", "height"):
        assert getattr(one.packs[0], name) == pytest.approx(getattr(other.packs[0], name), rel=1e-12)


def test_order_of_equal_shims_is_free() -> None:
    """Equal neighbours are one plate however many plates there are: the answer is the same to the last digit."""
    seat, load = seat_of(5, 9), pressed(5.5, 8.5, 9)
    one = lifts(plates(stack_of((20, 0.1), (20, 0.1), (14, 0.2), hole=9), seat), seat, load)
    other = lifts(plates(stack_of((20, 0.1), (20, 0.1), (14, 0.2), hole=8), seat), seat, load)
    np.testing.assert_array_equal(one.seat_lift, other.seat_lift)


def test_a_shim_of_vanishing_thickness_changes_nothing() -> None:
    """A shim of a micrometre or less changes nothing but the gap that its height adds to."""
    seat, load = seat_of(5, 9), pressed(5.5, 8.5, 9)
    shims = [(20, 0.15), (20, 0.15), (12, 0.1), (18, 0.15), (16, 0.15), (14, 0.2)]
    bare = lifts(plates(stack_of(*shims, hole=9), seat), seat, load)
    for place in range(2, 7):
        for thickness in (1e-3, 1e-4):
            more = plates(stack_of(*shims[:place], (14, thickness), *shims[place:], hole=9), seat)
            curve = lift_curve(more, seat=seat, load=load, pressures=bare.pressures)
            np.testing.assert_allclose(curve.seat_lift, bare.seat_lift, rtol=1e-3, atol=5e-3 * thickness)


def test_an_absent_pack_is_no_pack() -> None:
    """A pack of no stiffness and no height leaves the lift as it was."""
    seat, load = seat_of(5, 9), pressed(5.5, 8.5, 9)
    bare = plates(stack_of((20, 0.15), (18, 0.15), (14, 0.2), hole=9), seat)
    absent = bare.with_packs((*bare.packs[:1], Pack(9e-3, 0.0, 0.0, 0.0, 0.0), *bare.packs[1:]))
    one = lifts(bare, seat, load)
    other = lift_curve(absent, seat=seat, load=load, pressures=one.pressures)
    np.testing.assert_allclose(one.seat_lift, other.seat_lift, rtol=1e-9)


def test_rules_of_thumb_come_out() -> None:
    """N thin shims are as stiff as one of n^(1/3) times the thickness; one of 0.30 is four of two 0.15.

    Common practice, no source; exact where bending is all there is.
    """
    seat, load = seat_of(5, 9), pressed(5.5, 8.5, 9)
    pressures = np.array([10.0])

    def lift(*shims: tuple[float, float]) -> float:
        stack = plates(stack_of(*shims, hole=9), seat, thin=True)
        return float(lift_curve(stack, seat=seat, load=load, pressures=pressures).seat_lift[0])

    assert lift(*[(20, 0.1)] * 8) == pytest.approx(lift((20, 0.2)), rel=1e-6)
    assert lift((20, 0.15), (20, 0.15)) == pytest.approx(4 * lift((20, 0.30)), rel=1e-5)
    assert lift(*[(20, 0.1)] * 5) == pytest.approx(25 * lift((20, 0.5)), rel=1e-5)
