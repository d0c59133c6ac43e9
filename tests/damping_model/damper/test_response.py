"""The search's one question: right for the stack as it is, in order for all others, and close for those near it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from damping_model.damper.damper import Damper
from damping_model.damper.force import force_curve
from damping_model.damper.response import StackResponse
from damping_model.errors import GeometryError
from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.lift import Seat
from damping_model.stack.packs import Pack, PackedStack
from damping_model.stack.stack import Stack
from damping_model.units import kelvin
from tests.helpers.circuits import (
    COARSE,
    TWO_STAGE,
    compression_valve,
    fork_cartridge,
    looped_shock,
    monotube,
    one_change,
    stack,
)
from tests.helpers.random_dampers import curve_of, random_damper

SPEEDS = np.array([0.03, 0.06, 0.1, 0.2, 0.35, 0.6, 1.0, 1.6])
VELOCITIES = np.concatenate([[-0.5, -0.1, 0.0], SPEEDS])
PLACES = [(monotube, "compression stack"), (monotube, "rebound stack"), (fork_cartridge, "base stack")]


def with_stack(damper: Damper, name: str, shims: Stack) -> Damper:
    """The damper with other shims in a place."""
    valves = tuple(
        dataclasses.replace(
            valve,
            paths=tuple(
                dataclasses.replace(p, stack=shims) if isinstance(p, ShimValve) and p.name == name else p
                for p in valve.paths
            ),
        )
        for valve in damper.valves
    )
    return dataclasses.replace(damper, valves=valves)


@pytest.mark.parametrize(("make", "name"), [*PLACES, (looped_shock, "compression stack")])
def test_for_the_stack_as_it_is_the_answer_is_the_force_curve(make: Callable[..., Any], name: str) -> None:
    damper = make()
    response = StackResponse(damper, valve=name, velocities=VELOCITIES)
    forces = response.forces(response.packed(damper.stack_path(name).stack))
    assert forces == pytest.approx(
        force_curve(damper, velocities=VELOCITIES).damping_force, rel=1e-4, abs=1e-9
    )


@pytest.mark.parametrize(("make", "name"), PLACES)
@pytest.mark.parametrize("times", [0.1, 20.0])
def test_far_from_the_stack_as_it_is_the_exact_answer_is_the_force_curve(
    make: Callable[..., Any], name: str, times: float
) -> None:
    """Of shims so thick or thin that they feel a pressure beyond those that the response lifts stacks at."""
    damper = make()
    every = np.asarray(VELOCITIES)
    pushed = StackResponse(damper, valve=name, velocities=every).pushed_open
    velocities = every[pushed][pushed.sum() // 2 :][:1]
    response = StackResponse(damper, valve=name, velocities=velocities)
    shims = Stack(
        tuple(
            dataclasses.replace(one, thickness=times ** (1 / 3) * one.thickness)
            for one in damper.stack_path(name).stack.shims
        )
    )
    truth = force_curve(with_stack(damper, name, shims), velocities=velocities).damping_force
    packed = response.packed(shims)
    assert response.exact_forces(packed) == pytest.approx(truth, rel=1e-8)
    assert not response.pressures[0] < response.face_pressure(packed) < response.pressures[-1]


@pytest.mark.parametrize(("make", "name"), PLACES)
def test_for_one_change_the_answer_is_within_a_percent_and_mostly_far_closer(
    make: Callable[..., Any], name: str
) -> None:
    """The exact answer is the force curve of the damper with that stack in it."""
    damper = make()
    response = StackResponse(damper, valve=name, velocities=VELOCITIES)
    worst = []
    for seed in range(20):
        shims = one_change(damper.stack_path(name).stack, seed)
        truth = force_curve(with_stack(damper, name, shims), velocities=VELOCITIES).damping_force
        assert response.exact_forces(response.packed(shims)) == pytest.approx(truth, rel=1e-9)
        forces = response.forces(response.packed(shims))
        worst.append(np.max(np.abs(forces - truth) / np.maximum(np.abs(truth), 1e-9)))
    assert max(worst) < 1e-2
    assert np.median(worst) < 1e-3


@pytest.mark.parametrize("proud", [-0.05e-3, 0.05e-3, 0.15e-3])
def test_preload_costs_little_accuracy(proud: float) -> None:
    """Lip above or below the hub: stacks that open at other pressures than the present one, within 1 %."""
    seat = Seat(clamp_radius=4.5e-3, seat_radius=8.5e-3, seat_height=proud)
    valve = compression_valve(stack("3x20x0.15 17x0.15 13x0.2"), seat=seat)
    damper = monotube(paths=(valve, *monotube().valves[0].paths[1:]))
    response = StackResponse(damper, valve="compression stack", velocities=SPEEDS)
    for text in ("4x20x0.15 17x0.15 13x0.2", "3x20x0.15 17x0.2 13x0.2", "2x20x0.15 17x0.15 13x0.2"):
        packed = response.packed(stack(text))
        assert response.forces(packed) == pytest.approx(response.exact_forces(packed), rel=1e-2)


def test_a_stack_that_never_opens_can_still_be_exchanged_for_one_that_does() -> None:
    """The present stack is a rigid disc: its pressures fit no other well; half as much again is the worst."""
    damper = monotube(paths=(compression_valve(stack("20x30")), *monotube().valves[0].paths[1:]))
    dished = Seat(clamp_radius=4.5e-3, seat_radius=8.5e-3, seat_height=0.2e-3)
    shut = monotube(paths=(compression_valve(stack("20x30"), seat=dished), *monotube().valves[0].paths[1:]))
    for one in (damper, shut):
        response = StackResponse(one, valve="compression stack", velocities=SPEEDS)
        packed = response.packed(COARSE)
        assert response.forces(packed) == pytest.approx(response.exact_forces(packed), rel=0.5)
        rigid = response.packed(stack("20x30"))
        assert response.forces(rigid) == pytest.approx(response.exact_forces(rigid), rel=1e-6)


def test_a_stack_for_another_stroke_changes_nothing() -> None:
    response = StackResponse(monotube(), valve="rebound stack", velocities=SPEEDS)
    softer, harder = (
        response.forces(response.packed(stack(text))) for text in ("17x0.1 9x0.3", "8x17x0.3 9x0.3")
    )
    assert (softer == harder).all()


def test_temperature_and_clicks_reach_the_answer() -> None:
    damper, warm = monotube(), kelvin(celsius=70)
    response = StackResponse(
        damper,
        valve="compression stack",
        velocities=SPEEDS,
        temperature=warm,
        clicks={"low-speed compression": 2},
    )
    truth = force_curve(damper, velocities=SPEEDS, temperature=warm, clicks={"low-speed compression": 2})
    assert response.forces(response.packed(TWO_STAGE)) == pytest.approx(truth.damping_force, rel=1e-7)


def test_one_lift_answers_for_every_click() -> None:
    damper = monotube()
    response = StackResponse(damper, valve="compression stack", velocities=SPEEDS)
    lift = response.lift(response.packed(TWO_STAGE))
    for position in (0, 12):
        clicks = {"low-speed compression": position}
        truth = force_curve(damper, velocities=SPEEDS, clicks=clicks)
        assert response.forces_at(lift, clicks=clicks) == pytest.approx(truth.damping_force, rel=5e-4)


def test_the_same_question_has_the_same_answer_whatever_was_asked_between() -> None:
    response = StackResponse(monotube(), valve="compression stack", velocities=SPEEDS)
    packed, other = response.packed(COARSE), response.packed(one_change(TWO_STAGE, 3))
    first = response.forces(packed)
    response.forces(other)
    assert (response.forces(packed) == first).all()
    assert response.forces(packed, start=response.lift(other)) == pytest.approx(first, rel=1e-8)


# Order, which the search's proofs stand on.


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    factors=st.lists(st.one_of(st.floats(0, 1), st.just(0.0), st.just(1.0)), min_size=1, max_size=12),
)
def test_whatever_lifts_less_at_each_pressure_gives_no_less_force_anywhere(
    seed: int, factors: list[float]
) -> None:
    """Exact but for rounding, also where a stack lifts nothing at first or stands still later."""
    name = ("compression stack", "rebound stack")[seed % 2]
    response = RESPONSES[name]
    rng = np.random.default_rng(seed)
    lift = response.lift(response.packed(TWO_STAGE if seed % 2 == 0 else stack("3x17x0.15 13x0.15 9x0.3")))
    more = np.maximum.accumulate(lift.seat_lift * rng.uniform(0.2, 3.0, lift.seat_lift.size))
    less = np.maximum.accumulate(more * np.resize(factors, more.size))
    softer, harder = (response.forces_at(dataclasses.replace(lift, seat_lift=one)) for one in (more, less))
    assert (np.abs(harder) >= np.abs(softer) * (1 - 1e-11)).all()


RESPONSES = {
    name: StackResponse(monotube(), valve=name, velocities=np.concatenate([-SPEEDS, SPEEDS]))
    for name in ("compression stack", "rebound stack")
}


@settings(max_examples=60, deadline=None)
@given(place=st.integers(0, 11), factor=st.floats(1.0, 4.0), seed=st.integers(0, 1000))
def test_a_stiffer_pack_gives_no_less_force(place: int, factor: float, seed: int) -> None:
    """Through the true plates: the kernel's own tolerance is what the 1e-5 allows for."""
    response = RESPONSES["compression stack"]
    packed = response.packed(one_change(TWO_STAGE, seed))
    place %= len(packed.packs)
    before = packed.packs[place]
    stiffer = Pack(
        before.outer_radius,
        before.bending * factor,
        before.stretching * factor,
        before.shear * factor,
        before.height,
    )
    changed = packed.with_packs((*packed.packs[:place], stiffer, *packed.packs[place + 1 :]))
    assert (response.forces(changed) >= response.forces(packed) * (1 - 1e-5))[SPEEDS.size :].all()


def test_a_pack_that_no_shelf_could_build_is_answered_too() -> None:
    """A family's bound: one pack without stiffness, another stiffer than any shim."""
    response = RESPONSES["compression stack"]
    packed = response.packed(TWO_STAGE)
    nothing = packed.packs[2]._replace(bending=0.0, stretching=0.0, shear=0.0)
    floor = packed.with_packs((*packed.packs[:2], nothing, *packed.packs[3:]))
    rigid = packed.packs[0]._replace(bending=1e3, stretching=1e10, shear=1e10)
    ceiling: PackedStack = packed.with_packs((rigid, *packed.packs[1:]))
    low, middle, high = (response.forces(one)[SPEEDS.size :] for one in (floor, packed, ceiling))
    assert (low <= middle * (1 + 1e-9)).all()
    assert (middle < high).all()


def test_a_stack_that_would_lock_the_damper_has_a_force_beyond_all_bounds_and_no_endless_search() -> None:
    """No other way in compression: a family's stiffest bound may be such a stack."""
    damper = monotube(paths=(compression_valve(COARSE), *monotube().valves[0].paths[1:2]))
    response = StackResponse(damper, valve="compression stack", velocities=[0.5])
    rigid = response.packed(stack("20x30"))
    assert response.forces(rigid)[0] > 100 * response.forces(response.packed(COARSE))[0]
    assert response.exact_forces(rigid)[0] > 100 * response.exact_forces(response.packed(COARSE))[0]


def test_only_trees_of_valves_promise_order() -> None:
    assert RESPONSES["compression stack"].keeps_order
    assert not StackResponse(looped_shock(), valve="compression stack", velocities=[0.1, 0.5]).keeps_order


def test_its_pressures_depend_on_the_damper_alone() -> None:
    one, two = (StackResponse(monotube(), valve="compression stack", velocities=SPEEDS) for _ in range(2))
    two.forces(two.packed(COARSE))
    assert (one.pressures == two.pressures).all()
    assert (np.diff(one.pressures) > 0).all()
    assert one.pressures.size == 12


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 100_000))
def test_any_stack_of_any_damper_is_answered(seed: int) -> None:
    damper = random_damper(seed)
    for path in damper.stacks:
        truth = curve_of(damper, velocities=VELOCITIES).damping_force
        response = StackResponse(damper, valve=path.name, velocities=VELOCITIES)
        assert response.forces(response.packed(path.stack)) == pytest.approx(truth, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (
            lambda: StackResponse(monotube(), valve="compressoin stack", velocities=SPEEDS),
            "Did you mean 'compression stack'?",
        ),
        (lambda: StackResponse(monotube(), valve="rebound", velocities=SPEEDS), "got stack 'rebound'"),
        (
            lambda: StackResponse(monotube(), valve="rebound stack", velocities=[np.nan]),
            "expected a list of numbers",
        ),
        (
            lambda: RESPONSES["rebound stack"].forces(
                RESPONSES["rebound stack"].packed(COARSE), clicks={"rebond": 1}
            ),
            "Did you",
        ),
    ],
)
def test_a_question_about_what_is_not_there_is_refused(ask: Callable[..., Any], words: str) -> None:
    with pytest.raises(GeometryError) as error:
        ask()
    assert words in str(error.value)
