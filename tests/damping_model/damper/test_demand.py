"""A force asked through one lift at one pressure: the same force that the whole curve gives."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from damping_model.damper.demand import LARGEST_EXCESS
from damping_model.damper.response import StackResponse
from damping_model.flow.flow_kernel import curtain_flow, gap_for_flow
from damping_model.flow.lift_kernel import EDGE, FILM, HEAD, JET
from damping_model.stack.packs import PackedStack
from tests.helpers.circuits import TWO_STAGE, fork_cartridge, monotube

SPEEDS = np.array([0.03, 0.06, 0.1, 0.2, 0.35, 0.6, 1.0, 1.6])
PLACES = [(monotube, "compression stack"), (monotube, "rebound stack"), (fork_cartridge, "base stack")]


def opened(make: Callable[..., Any], name: str) -> StackResponse:
    """The response of one place, and the velocities that push its stack open."""
    damper = make()
    direction = damper.stack_path(name).direction
    return StackResponse(damper, valve=name, velocities=direction * SPEEDS)


RESPONSES = {name: opened(make, name) for make, name in PLACES}


def excess_of(response: StackResponse, packed: PackedStack, *, place: int, force: float) -> float:
    return float(response.excesses(packed, places=(place,), forces=(force,))[0])


@pytest.mark.parametrize("name", RESPONSES)
def test_the_force_that_the_whole_curve_gives_is_neither_exceeded_nor_missed(name: str) -> None:
    response = RESPONSES[name]
    packed = response.packed(TWO_STAGE if name == "compression stack" else response.path.stack)
    for place, force in enumerate(response.exact_forces(packed)):
        # 0.1 %: the curve reads its lift between the pressures of a table
        assert excess_of(response, packed, place=place, force=force) == pytest.approx(0.0, abs=1e-3)


@settings(max_examples=60, deadline=None)
@given(
    name=st.sampled_from(sorted(RESPONSES)), place=st.integers(0, SPEEDS.size - 1), share=st.floats(0.3, 3)
)
def test_a_force_is_reached_just_when_the_curve_reaches_it_and_about_by_as_much(
    name: str, place: int, share: float
) -> None:
    response = RESPONSES[name]
    packed = response.packed(response.path.stack)
    own = response.exact_forces(packed)[place]
    excess = excess_of(response, packed, place=place, force=float(own * share))
    if abs(share - 1) > 4e-3:  # the tolerance that a search allows for
        assert (excess > 0) == (share < 1)
    # of a stack that has hardly opened only the sign is sure: preload is no power of pressure
    if 0.9 < share < 1.1 and SPEEDS[place] >= 0.35:
        assert excess == pytest.approx(-np.log(share), abs=0.15 * abs(np.log(share)) + 2e-3)


@settings(max_examples=60, deadline=None)
@given(place=st.integers(0, SPEEDS.size - 1), pack=st.integers(0, 30), more=st.floats(1.0, 4.0))
def test_a_pack_made_stiffer_never_gives_less(place: int, pack: int, more: float) -> None:
    response = RESPONSES["compression stack"]
    packed = response.packed(response.path.stack)
    force = float(response.exact_forces(packed)[place])
    packs = list(packed.packs)
    one = packs[pack % len(packs)]
    packs[pack % len(packs)] = one._replace(
        bending=one.bending * more, stretching=one.stretching * more, shear=one.shear * more
    )
    stiffer = packed.with_packs(packs)
    before, after = (excess_of(response, each, place=place, force=force) for each in (packed, stiffer))
    assert after >= before - 1e-6


def test_the_exact_sign_is_that_of_the_force_curve_to_a_two_thousandth() -> None:
    """Twenty stacks, at every velocity; a search allows for as much (``EXACT_TOLERANCE``)."""
    dice = np.random.default_rng(3)
    for _ in range(20):
        response = RESPONSES[sorted(RESPONSES)[dice.integers(len(RESPONSES))]]
        packs = list(response.packed(response.path.stack).packs)
        for _ in range(dice.integers(4)):
            place, times = dice.integers(len(packs)), dice.uniform(0.2, 4)
            one = packs[place]
            packs[place] = one._replace(
                bending=one.bending * times, stretching=one.stretching * times, shear=one.shear * times
            )
        packed = response.packed(response.path.stack).with_packs(packs)
        for number, force in enumerate(response.exact_forces(packed)):
            for share in (1 - 5e-4, 1 + 5e-4):
                asked = response.excesses(
                    packed, places=(number,), forces=(float(force * share),), exactly=True
                )
                assert (asked[0] > 0) == (share < 1)


def test_forces_that_no_stack_can_give_are_told_without_lifting_one() -> None:
    response = RESPONSES["compression stack"]
    packed = response.packed(response.path.stack)
    own = response.exact_forces(packed)
    shut = packed.with_packs([p._replace(bending=p.bending * 1e9) for p in packed.packs])
    most = response.exact_forces(shut)[2]
    # the bleed alone lets all the oil through at that
    assert excess_of(response, packed, place=2, force=float(1.05 * most)) == -LARGEST_EXCESS
    # the ports alone take more than that
    assert excess_of(response, packed, place=2, force=1e-6 * float(own[2])) == LARGEST_EXCESS


def test_a_stroke_that_pushes_the_stack_shut_has_one_force_whatever_the_stack() -> None:
    damper = monotube()
    response = StackResponse(damper, valve="compression stack", velocities=-SPEEDS)
    packed = response.packed(TWO_STAGE)
    own = response.exact_forces(packed)
    assert excess_of(response, packed, place=3, force=float(own[3] * 0.8)) == pytest.approx(
        -np.log(0.8), rel=1e-6
    )


@settings(max_examples=200, deadline=None)
@given(
    film=st.floats(0, 1e-10),
    jet=st.floats(1, 1e6),
    head=st.floats(0, 1e10),
    flow=st.floats(1e-7, 1e-3),
    pressure=st.floats(1e3, 1e7),
)
def test_the_lift_for_a_flow_is_the_one_that_lets_it_through(
    film: float, jet: float, head: float, flow: float, pressure: float
) -> None:
    """Against a general root search (scipy's brentq) on the kernel's own flow over the lip."""
    row = np.zeros(10)
    row[[FILM, EDGE, JET, HEAD]] = film, 1e-3 * film, jet, head
    if pressure <= 1.01 * head * flow**2:
        return
    gap = gap_for_flow(row, flow, pressure)
    assert curtain_flow(row, gap, 0.0, pressure)[0] == pytest.approx(flow, rel=1e-9)
    searched = brentq(lambda h: curtain_flow(row, h, 0.0, pressure)[0] - flow, gap / 50, gap * 50, xtol=1e-16)
    assert gap == pytest.approx(searched, rel=1e-6)
