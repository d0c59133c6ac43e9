"""Each rule: kept with room, only just kept, broken, and in which words."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from damping_model.stack.stack import Stack
from optimiser.model.rules import (
    BY_DIAMETERS,
    ClampShimStays,
    ClearsBore,
    CrossoverWideEnough,
    DiametersFall,
    FaceCoversPorts,
    HeightFits,
    HoleFitsShaft,
    Mounting,
    NotEmpty,
    RingBears,
    RingsStay,
    Rule,
    rules_for,
    violations,
)
from optimiser.model.stock import ShimKey

MOUNTING = Mounting(
    hole_diameter=8e-3, port_outer_radius=7.5e-3, seat_radius=8.5e-3, bore_radius=13.5e-3, clamp_diameter=9e-3,
    most_height=1.0e-3,
)  # fmt: skip


def key(outer: float, thickness: float = 0.2, inner: float = 8.0) -> ShimKey:
    return ShimKey.from_millimetres(outer=outer, thickness=thickness, inner=inner)


def stack(*keys: ShimKey) -> Stack:
    return Stack(tuple(k.shim for k in keys))


NO_SPACER = CrossoverWideEnough(12e-3)

RING = key(20, 0.3, inner=15)

GOOD = stack(key(20), key(18), key(9, 0.3))


@pytest.mark.parametrize(
    ("rule", "kept", "broken", "words"),
    [
        (NotEmpty(), stack(key(20)), Stack(()), "no shims"),
        (FaceCoversPorts(), stack(key(17)), stack(key(16.9)), "16.9 mm wide and leaves the ports open; it takes at least 17 mm"),
        (ClearsBore(), stack(key(26.9)), stack(key(27)), "27x0.20 hits the bore of 27 mm"),
        (HoleFitsShaft(), stack(key(20)), stack(key(20, inner=6)), "hole of 6 mm and the shaft is 8 mm"),
        (HoleFitsShaft(), stack(key(20), key(20, inner=16), key(16)), stack(key(20), key(20, inner=16), key(17)), "centring shim"),
        (RingBears(), stack(key(20), RING, key(14), key(20)), stack(key(20), RING, key(14), key(15)), "no shim behind it is wider than that"),
        (RingBears(), stack(key(20), RING, key(14), key(15.1)), stack(key(15), RING, key(14), key(20)), "no shim before it is wider than that"),
        (RingBears(), stack(key(20), key(14), RING, key(20)), stack(key(20), key(14), RING, key(9)), "no shim behind it is wider than that"),
        (RingsStay(((RING, key(14)),)), stack(key(20), key(14), RING, key(14), key(20)), stack(key(20), RING, key(14), key(14), key(20)), "have to stay as they are"),
        (RingsStay(((RING, key(14)),)), stack(key(20), RING, key(14), key(19)), stack(key(20), key(14), key(19)), "have to stay as they are"),
        (HeightFits(), stack(*[key(20)] * 5), stack(*[key(20)] * 5, key(18, 0.05)), "take out 0.05 mm"),
        (NO_SPACER, stack(key(20), key(12, 0.05), key(18), key(10)), stack(key(20), key(11), key(18), key(10)), "clamp's side"),
        (DiametersFall(), stack(key(20), key(14), key(20), key(18)), stack(key(20), key(14), key(20), key(14), key(20)), "rise again 2 times"),
        (DiametersFall(), stack(key(20), key(14), key(14), key(18)), stack(key(20), *[key(14)] * 3, key(18)), "rests on 3 shims of 14 mm"),
        (DiametersFall(), stack(key(20), key(14), key(20)), stack(key(19), key(14), key(20)), "wider than everything"),
        (ClampShimStays(key(9, 0.3)), GOOD, stack(key(20), key(9, 0.2)), "clamp shim 9x0.30 has to stay"),
    ],
)  # fmt: skip
def test_a_rule_lets_pass_what_only_just_keeps_it_and_says_what_is_wrong_otherwise(
    rule: Rule, kept: Stack, broken: Stack, words: str
) -> None:
    """The words are what a tuner reads."""
    assert rule.violations(kept, MOUNTING) == ()
    (said,) = rule.violations(broken, MOUNTING)
    assert words in said


def test_the_face_shim_needs_the_overlap_that_is_asked_for() -> None:
    """Half a millimetre a side makes 17 into 18."""
    wide = replace(MOUNTING, overlap=0.5e-3)
    assert FaceCoversPorts().violations(stack(key(18)), wide) == ()
    assert FaceCoversPorts().violations(stack(key(17.9)), wide)


def test_a_stack_that_stands_is_allowed_its_own_crossovers() -> None:
    """What the tuner meant is no fault."""
    two = stack(key(20, 0.1), key(14, 0.1), key(20, 0.1), *[key(13, 0.1)] * 3, key(19, 0.1), key(9, 0.1))
    assert violations(rules_for(two, MOUNTING), two, MOUNTING) == ()


def test_thicknesses_make_no_difference_to_rules_by_diameters() -> None:
    rng, broken = random.Random(0), 0
    rules = [*rules_for(stack(key(20), RING, key(14), key(18)), MOUNTING), NO_SPACER]
    for _ in range(400):
        shims = [
            (rng.choice((27, 20, 18, 14, 9)), rng.choice((8, 8, 8, 15))) for _ in range(rng.randint(1, 6))
        ]
        one, other = (
            stack(
                *(key(outer, rng.choice((0.1, 0.2, 0.3)), inner) for outer, inner in shims if outer > inner)
            )
            for _ in range(2)
        )
        for rule in rules:
            if isinstance(rule, BY_DIAMETERS):
                fault = bool(rule.violations(one, MOUNTING))
                assert fault == bool(rule.violations(other, MOUNTING)), rule
                broken += fault
    assert broken > 100
