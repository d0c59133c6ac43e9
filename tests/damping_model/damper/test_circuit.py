"""Networks of valves: balance, order, signs and an independent solution, over dampers drawn at random."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicHermiteSpline
from scipy.optimize import root

from damping_model.damper.circuit import Circuit
from damping_model.damper.damper import Chamber, Damper, Valve
from damping_model.damper.force import force_curve, solved, stack_table
from damping_model.flow.lift_kernel import STACK
from damping_model.flow.path_set import PathSet
from damping_model.flow.paths import Bleed, Clicker, RingLeak
from damping_model.stack.lift_table import FIRST_TOP
from damping_model.stack.steel import SpringSteel
from tests.helpers.circuits import (
    CHAMBERS,
    EVERY,
    GAS,
    base_valve_shock,
    compression_valve,
    looped_shock,
    monotube,
    refill_check,
)
from tests.helpers.random_dampers import curve_of, random_damper

SPEEDS = np.geomspace(5e-3, 4.0, 13)
BOTH = np.concatenate([-SPEEDS[::-1], SPEEDS])
SEEDS = st.integers(0, 100_000)
FEW = settings(max_examples=25, deadline=None)


def is_tree(damper: Damper) -> bool:
    joints = {frozenset((valve.from_chamber, valve.to_chamber)) for valve in damper.valves}
    return len(joints) == len(damper.chambers)


@FEW
@given(seed=SEEDS)
def test_flows_into_each_chamber_sum_to_zero(seed: int) -> None:
    damper = random_damper(seed)
    curve = curve_of(damper, velocities=BOTH)
    for chamber in damper.chambers:
        out = chamber.swept_area * curve.velocities
        for valve, flow in zip(damper.valves, curve.flows, strict=True):
            out = out - flow * ((valve.from_chamber == chamber.name) - (valve.to_chamber == chamber.name))
        assert np.abs(out).max() <= 1e-9 * np.abs(curve.flows).max()
        assert (np.abs(out) <= 1e-9 * np.abs(curve.flows).max(axis=0)).all()


@FEW
@given(seed=SEEDS)
def test_force_rises_with_velocity_and_always_takes_power(seed: int) -> None:
    curve = curve_of(random_damper(seed), velocities=BOTH)
    assert (np.diff(curve.damping_force) > 0).all()
    assert (curve.damping_force * curve.velocities > 0).all()
    assert (curve.force_against_motion > 0).all()


@FEW
@given(seed=SEEDS)
def test_shares_of_the_valves_are_the_work_of_the_pressures(seed: int) -> None:
    """Virtual work, two ways: pressures times areas, and drops times flows over velocity."""
    damper = random_damper(seed)
    curve = curve_of(damper, velocities=BOTH)
    areas = np.array([chamber.swept_area for chamber in damper.chambers])
    by_pressure = areas @ curve.pressures[:-1] - areas.sum() * curve.pressures[-1]
    assert by_pressure == pytest.approx(curve.damping_force, rel=1e-8)
    assert curve.shares.sum(axis=0) == pytest.approx(curve.damping_force, rel=1e-12)
    assert (curve.shares * np.sign(curve.velocities) >= 0).all()


@FEW
@given(seed=SEEDS, diameter=st.floats(0.2e-3, 2e-3))
def test_more_bleed_is_never_more_force(seed: int, diameter: float) -> None:
    """In trees of valves; where valves close a loop no such theorem holds."""
    damper = random_damper(seed)
    assume(is_tree(damper))
    extra = Bleed(name="extra bleed", diameter=diameter, length=1e-3)
    wider = dataclasses.replace(
        damper,
        valves=(
            dataclasses.replace(damper.valves[0], paths=(*damper.valves[0].paths, extra)),
            *damper.valves[1:],
        ),
    )
    assert (
        curve_of(wider, velocities=BOTH).force_against_motion
        <= curve_of(damper, velocities=BOTH).force_against_motion * (1 + 1e-11)
    ).all()


@FEW
@given(seed=SEEDS, colder=st.floats(1, 30))
def test_colder_oil_is_never_less_force(seed: int, colder: float) -> None:
    """In trees of valves, as above."""
    damper = random_damper(seed)
    assume(is_tree(damper))
    warm = curve_of(damper, velocities=BOTH)
    cold = curve_of(damper, velocities=BOTH, temperature=damper.temperature - colder)
    assert (cold.force_against_motion >= warm.force_against_motion * (1 - 1e-11)).all()


@FEW
@given(seed=SEEDS)
def test_no_regime_change_bends_the_curve_more_than_the_laws_themselves(seed: int) -> None:
    """Every path passes at least the square root of a pressure, so force grows at most with velocity squared."""
    damper = random_damper(seed)
    assume(is_tree(damper))
    fine = np.geomspace(5e-3, 4.0, 400)
    for sign in (1, -1):
        force = curve_of(damper, velocities=sign * fine).force_against_motion
        growth = np.diff(np.log(force)) / np.diff(np.log(fine))
        assert growth.min() > 0
        assert growth.max() < 2 + 1e-6


@FEW
@given(seed=SEEDS)
def test_what_lies_open_both_ways_passes_the_same_both_ways(seed: int) -> None:
    """Odd in the pressure drop where no path is one-way."""
    damper = random_damper(seed)
    two_way = [path for path in damper.paths if getattr(path, "direction", 0) == 0]
    assume(two_way)
    valves = tuple(
        dataclasses.replace(valve, paths=(Bleed(name=f"{valve.name} way", diameter=1e-3), *kept))
        for valve in damper.valves
        for kept in [tuple(path for path in valve.paths if path in two_way)]
    )
    curve = curve_of(dataclasses.replace(damper, valves=valves), velocities=BOTH)
    assert curve.damping_force == pytest.approx(-curve.damping_force[::-1], rel=1e-9)


def raw_flow(paths: PathSet, drop: float, faces: np.ndarray) -> tuple[float, list[float]]:
    """Flow at a drop and given face pressures, and what each face pressure leaves of the drop; plain equations."""
    flow, left = 0.0, []
    for a, b in paths.plain:
        flow += drop / a if b == 0 else (math.sqrt(a * a + 4 * b * drop) - a) / (2 * b)
    for row, table, face in zip(paths.lifters, paths.tables, faces, strict=True):
        kind, port_a, port_b, film, edge, jet, head = row[:7]
        if kind == STACK:
            count = int(row[9])
            x = row[7] + row[8] * np.arange(count)
            lift = face * float(CubicHermiteSpline(x, table[0, :count], table[1, :count])(math.log(face)))
        else:
            over = max(face - row[7], 0.0) * row[8]
            lift = over / (1 + (over / row[9]) ** 4) ** 0.25
        if lift <= 0:
            left.append((drop - face) / drop)
            continue
        a, b = film / lift**3 + edge / lift**2, jet / lift**2 + head
        one = 2 * face / (a + math.sqrt(a * a + 4 * b * face))
        left.append((drop - (face - head * one**2) - one * (port_a + port_b * one)) / drop)
        flow += one
    return flow, left


def raw_residuals(ready: Circuit, logs: np.ndarray, signs: np.ndarray, velocity: float) -> np.ndarray:
    """Balance of every chamber and of every path's pressures; unknowns are logs of drops and of face pressures."""
    drops = signs * np.exp(logs[: len(ready.edges)])
    at, flows, rest = len(ready.edges), [], []
    for edge, drop in zip(ready.edges, drops, strict=True):
        side = edge.forward if drop > 0 else edge.backward
        faces = np.exp(logs[at : at + len(side.lifters)])
        at += len(side.lifters)
        flow, left = raw_flow(side, abs(drop), faces)
        flows.append(math.copysign(flow, drop))
        rest += left
    wanted = np.array([chamber.swept_area for chamber in ready.damper.chambers]) * velocity
    scale = np.abs(flows).max()
    rest += list((ready.incidence @ np.array(flows) - wanted) / scale)
    # drops around a loop add up to zero: they are differences of chamber pressures
    loops = len(ready.edges) - len(ready.damper.chambers)
    if loops:
        null = np.linalg.svd(ready.incidence)[2][-loops:]
        rest += list(null @ drops / np.abs(drops).max())
    return np.array(rest)


@pytest.mark.parametrize("make", EVERY)
@pytest.mark.parametrize("velocity", [0.05, -0.3, 1.5])
def test_an_independent_solution_of_the_same_equations_agrees(
    make: Callable[..., Any], velocity: float
) -> None:
    """scipy.optimize.root on the raw equations, started 5 % away."""
    damper = make()
    ready, drops, _ = solved(
        damper, velocities=np.array([velocity]), temperature=None, clicks={}, steel=SpringSteel()
    )
    ours, signs = [math.log(abs(drop)) for drop in drops[:, 0]], np.sign(drops[:, 0])
    for edge, drop in zip(ready.edges, drops[:, 0], strict=True):
        side = edge.forward if drop > 0 else edge.backward
        ours += list(np.log(side.face_pressures(np.array([abs(drop)]))[:, 0]))
    start = np.array(ours) + 0.05 * np.cos(np.arange(len(ours)))
    found = root(partial(raw_residuals, ready), start, args=(signs, velocity), tol=1e-13)
    assert np.abs(raw_residuals(ready, found.x, signs, velocity)).max() < 1e-9
    assert found.x[: len(ready.edges)] == pytest.approx(ours[: len(ready.edges)], abs=1e-6)


@FEW
@given(seed=SEEDS)
def test_the_flows_of_a_valves_paths_are_the_valves(seed: int) -> None:
    """But for the film past shut seats, which is no path."""
    damper = random_damper(seed)
    curve = curve_of(damper, velocities=BOTH)
    at = 0
    for valve, flow, drop in zip(damper.valves, curve.flows, curve.drops, strict=True):
        mine = curve.path_flows[at : at + len(valve.paths)]
        at += len(valve.paths)
        film = 1e-20 * np.abs(drop) / damper.oil.at(temperature=damper.temperature).dynamic_viscosity
        past = np.sign(drop) * (flow - mine.sum(axis=0))  # a seat that is just open shares the film
        rounding = 1e-8 * np.abs(flow)
        assert (past >= -rounding).all()
        assert (past <= film + rounding).all()
        assert (mine * np.sign(drop) >= 0).all()


def test_a_clicker_owns_slow_strokes_and_a_stack_fast_ones() -> None:
    curve = force_curve(monotube(), velocities=[0.005, 2.0])
    through = dict(zip(curve.paths, curve.path_flows / curve.flows[0], strict=True))
    assert through["low-speed compression"][0] > 0.7
    assert through["compression stack"][1] > 0.9
    assert (through["rebound stack"] == 0).all()


def test_two_valves_side_by_side_are_one_valve() -> None:
    """The second described the other way round."""
    one = monotube()
    main, base = one.valves
    turned = tuple(
        dataclasses.replace(path, direction=-path.direction)
        if not isinstance(path, RingLeak) and path.direction
        else path
        for path in main.paths[2:]
    )
    parts = (
        dataclasses.replace(main, paths=main.paths[:2]),
        Valve(name="clickers", from_chamber=main.to_chamber, to_chamber=main.from_chamber, paths=turned),
        base,
    )
    whole, split = (curve_of(d, velocities=BOTH) for d in (one, dataclasses.replace(one, valves=parts)))
    assert split.damping_force == pytest.approx(whole.damping_force, rel=1e-11)
    assert split.shares[0] + split.shares[1] == pytest.approx(whole.shares[0], rel=1e-11)
    assert (split.shares[1] * np.sign(BOTH) > 0).all()


def test_a_clicker_that_also_bleeds_in_compression_softens_both_strokes() -> None:
    """The same adjuster, with and without its check: data, no other code."""
    needle = Clicker(name="shaft bleed", areas=(1e-7, 1e-6, 2e-6), position=1)
    forces = {}
    for direction in (0, -1):
        paths = (*monotube().valves[0].paths[:2], dataclasses.replace(needle, direction=direction))
        for click in (1, 2):
            curve = force_curve(monotube(paths=paths), velocities=[-0.1, 0.1], clicks={"shaft bleed": click})
            forces[direction, click] = curve.force_against_motion
    assert forces[0, 2][0] < forces[0, 1][0]
    assert forces[0, 2][1] < forces[0, 1][1]
    assert forces[-1, 2][0] < forces[-1, 1][0]
    assert forces[-1, 2][1] == forces[-1, 1][1]


def test_a_loop_of_valves_has_pressures_that_add_up_around_it() -> None:
    curve = curve_of(looped_shock(), velocities=BOTH)
    assert curve.drops[1] == pytest.approx(curve.drops[0] + curve.drops[2], rel=1e-7, abs=1e-3)


def test_a_chamber_that_no_piston_sweeps_only_passes_oil_on() -> None:
    """An outer tube between two valves: the same flow through both."""
    base = base_valve_shock()
    through = (
        base.valves[0],
        dataclasses.replace(base.valves[1], to_chamber="outer tube"),
        Valve(
            name="outer",
            from_chamber="outer tube",
            to_chamber=GAS,
            paths=(Bleed(name="outer hole", diameter=3e-3),),
        ),
    )
    chambers = (*CHAMBERS, Chamber(name="outer tube", swept_area=0.0))
    curve = curve_of(monotube(valves=through, chambers=chambers), velocities=BOTH)
    assert curve.flows[2] == pytest.approx(curve.flows[1], rel=1e-12)


def test_every_stack_of_a_damper_opens_in_its_own_stroke() -> None:
    damper = monotube()
    ready, drops, _ = solved(
        damper, velocities=np.array([0.5, -0.5]), temperature=None, clicks={}, steel=SpringSteel()
    )
    assert ready.edges[0].forward.names == ("compression stack",)
    assert ready.edges[0].backward.names == ("rebound stack",)
    assert drops[0, 0] > 0 > drops[0, 1]


def test_the_momentum_option_lowers_the_force_a_little() -> None:
    """The jet's head helps to open: less force, and no effect while hardly any oil flows."""
    plain = monotube(paths=(compression_valve(), refill_check(direction=-1)))
    helped = monotube(paths=(compression_valve(momentum=True), refill_check(direction=-1)))
    speeds = np.array([0.01, 0.5, 2.0])
    ratio = (
        force_curve(helped, velocities=speeds).damping_force
        / force_curve(plain, velocities=speeds).damping_force
    )
    assert (np.diff(ratio) < 0).all()
    assert 0.8 < ratio[-1] < 0.999
    assert ratio[0] == pytest.approx(1, abs=1e-3)


def test_a_table_of_lift_reaches_as_far_as_it_says() -> None:
    table = stack_table(monotube(), "compression stack", steel=SpringSteel(), top=FIRST_TOP)
    assert table.top == pytest.approx(FIRST_TOP, rel=1e-12)
