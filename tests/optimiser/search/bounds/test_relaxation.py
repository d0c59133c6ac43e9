"""The relaxation of a family, before any physics: no member has less stiffness within a radius, or more."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.model.edits import stack_of
from optimiser.search.bounds.relaxation import softest, stiffest
from optimiser.search.evaluator import Evaluator
from optimiser.search.kernel.selection import most_promising
from optimiser.search.space.family import Family, root_families
from optimiser.search.space.problem_data import problem_data
from optimiser.search.space.shape import Shape
from optimiser.search.tree.roots import shapes
from tests.helpers import toy

PHYSICS = toy.ToyPhysics()
TAPER = ((20, 0.10), (20, 0.10), (18, 0.10), (16, 0.10), (13, 0.15), (11, 0.30), (9, 0.30))


def taper(seed: int, changes: int) -> tuple[Shape, Stack]:
    """A stack without gaps, and the shape that keeps it so."""
    start = toy.stack(*TAPER)
    evaluator = Evaluator(PHYSICS, cores=1)
    stock = toy.random_stock(np.random.default_rng(seed), 6)
    data = problem_data(toy.problem(PHYSICS, start, stock, toy.no_goal(start)), evaluator)
    return shapes(
        data, evaluator, changes, relative_half_width=np.full(len(toy.VELOCITIES), 0.02), setting=0
    )[0], start


def families(shape: Shape, changes: int) -> Iterator[Family]:
    """All that a search splits a shape into, down to a few members."""
    waiting = [family for family in root_families(shape, changes) if family.is_a_stack]
    while waiting:
        family = waiting.pop()
        yield family
        if family.most_members > 1:
            waiting += [part for part in family.split() if part.is_a_stack]


def beyond_the_clamp(plates: PackedStack) -> float:
    return within(plates, np.array([toy.MOUNTING.clamp_diameter / 2 + 1e-6]))[0]


def within(plates: PackedStack, radii: np.ndarray[tuple[int], np.dtype[np.float64]]) -> list[float]:
    """Stiffness of the plates that reach as far as each radius or further."""
    return [sum(pack.bending for pack in plates.packs if pack.outer_radius > r - 1e-9) for r in radii]


@pytest.mark.parametrize("seed", [1, 2])
def test_from_any_radius_outwards_no_member_is_softer_than_the_softest_stack_or_stiffer_than_the_stiffest(
    seed: int,
) -> None:
    rng, seen = np.random.default_rng(seed), 0
    shape, _ = taper(seed, 2)
    assert shape.runs == 1
    radii = np.array(sorted({slot.outer * 0.5e-6 for slot in shape.slots})[1:])  # the first is the clamp's
    for family in families(shape, 2):
        soft, stiff = softest(family), stiffest(family)
        members = list(family.members())
        for k in rng.permutation(len(members))[:5]:
            own = np.array(within(PHYSICS.packed(stack_of(members[k])), radii))
            seen += 1
            assert (own <= np.array(within(stiff, radii)) * (1 + 1e-9)).all()
            if soft is not None:
                assert (own >= np.array(within(soft, radii)) * (1 - 1e-9) - 1e-12).all()
    assert seen > 1000


def test_a_thick_narrow_shim_that_may_leave_leaves_the_wide_ones_in_place() -> None:
    """Any one shim leaves: the widest pack loses no more than one of its own."""
    shape, start = taper(1, 1)
    assert shape.leaving is not None
    soft = softest(Family(shape, ((shape.leaving, 1),), ()))
    assert soft is not None
    whole = PHYSICS.packed(start)
    assert soft.packs[0].bending == pytest.approx(whole.packs[0].bending / 2)
    # the thick narrow shim is 27 times as stiff as a wide one, and is counted once
    assert beyond_the_clamp(whole) - beyond_the_clamp(soft) == pytest.approx(27 * whole.packs[0].bending / 2)


def test_what_may_come_anywhere_is_put_as_wide_as_it_can_be_and_no_stiffer_than_it_is_there() -> None:
    shape, start = taper(1, 1)
    assert shape.coming is not None
    stiff = stiffest(Family(shape, (), ((shape.coming, 1),)))
    whole = PHYSICS.packed(start)
    widest = [site.properties.bending for site in shape.coming.sites if site.place == 0]
    assert stiff.packs[0].bending == pytest.approx(whole.packs[0].bending + max(widest))
    gained = beyond_the_clamp(stiff) - beyond_the_clamp(whole)
    assert gained == pytest.approx(max(site.properties.bending for site in shape.coming.sites))


def chosen(**changes: object) -> tuple[int, int]:
    """The choice for a family whose softest stack is estimated 10 % below the first threshold and may rise by 20 %."""
    nothing = np.zeros((2, 2), np.bool_)
    told: dict[str, Any] = {
        "estimate": np.log([[0.9, 0.5], [1.4, 1.4]]),
        "bounds": np.array([[-np.inf] * 2, [np.inf] * 2]),
        "failed": np.full((2, 2), np.inf),
        "uncertainty": np.array([[0.2, 0.2], [0.0, 0.0]]),
        "left_out": nothing,
        "logs": np.zeros((2, 2)),
        "signed_bounds": np.array([[1.0, 1.0], [-1.0, -1.0]]),
        "signed_tested": np.array([[1.0, 1.0], [-1.0, -1.0]]),
        "relative_half_width": np.full(2, 0.02),
        "clear": 0.0,
        "only_likely": False,
        "no_softest": False,
    }
    side, place = most_promising(*(told | changes).values())
    return int(side), int(place)


def test_the_threshold_tested_is_the_one_that_the_bounding_stack_may_have_come_to() -> None:
    assert chosen() == (0, 0)
    assert chosen(uncertainty=np.array([[0.2, 0.9], [0.0, 0.0]])) == (0, 1)


def test_nothing_is_tested_that_is_out_of_reach_known_or_left_out() -> None:
    nothing = (-1, -1)
    assert chosen(uncertainty=np.full((2, 2), 0.05)) == nothing
    assert chosen(no_softest=True) == nothing
    assert chosen(failed=np.array([[0.9, 0.9], [np.inf, np.inf]])) == nothing
    assert chosen(bounds=np.array([[1.1, 1.1], [np.inf, np.inf]])) == nothing
    assert chosen(left_out=np.ones((2, 2), np.bool_)) == nothing
    assert chosen(only_likely=True) == nothing


def test_what_is_likely_to_be_missed_goes_before_what_may_be() -> None:
    missed = np.log([[0.9, 0.5], [1.4, 0.99]])
    assert chosen(estimate=missed) == (1, 1)
    assert chosen(estimate=missed, only_likely=True) == (1, 1)
