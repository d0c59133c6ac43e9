"""The compiled inner loop: its slopes are derivatives, its inverse inverts, and it never runs backwards."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Final

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from damping_model.damper import demand
from damping_model.errors import ConvergenceError
from damping_model.flow import flow_kernel, lift_kernel
from damping_model.flow import path_set as path_set_module
from damping_model.flow.flow_kernel import drop_for_flow, lifter_flow, total_flow
from damping_model.flow.lift_kernel import lift_of
from damping_model.flow.path_set import PathSet, path_set
from damping_model.flow.paths import Bleed, RingLeak
from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.lift import Seat, lift_curve
from damping_model.stack.lift_table import LOWEST, PER_DECADE, LiftTable, lift_table
from damping_model.stack.steel import SpringSteel
from damping_model.units import kelvin
from tests.helpers.circuits import LIGHT_OIL, compression_valve, refill_check, stack

OIL = LIGHT_OIL.at(temperature=kelvin(celsius=40))
STEEL = SpringSteel()
DISHED = Seat(clamp_radius=4.5e-3, seat_radius=8.5e-3, seat_height=0.08e-3)
VALVES = {
    "plain": compression_valve(stack("3x20x0.15 17x0.15 13x0.2")),
    "two stages": compression_valve(stack("4x20x0.10 12x0.10 3x19x0.15 15x0.15 12x0.2")),
    "dished": compression_valve(stack("3x20x0.15 17x0.15 13x0.2"), seat=DISHED),
    "jet": compression_valve(stack("2x20x0.10 14x0.15"), momentum=True),
}


def table_of(valve: ShimValve) -> LiftTable:
    return lift_table(valve.packed(valve.stack, steel=STEEL), seat=valve.seat, load=valve.face_pressure)


def paths_of(name: str) -> PathSet:
    """The valve beside a bleed, a ring and a check."""
    valve = VALVES[name]
    beside = (
        Bleed(name="bleed", diameter=0.8e-3, length=1e-3),
        RingLeak(name="ring", diameter=27e-3, clearance=12e-6, length=4e-3),
        refill_check(direction=1),
    )
    return path_set(
        [(path, 1) for path in (valve, *beside)], oil=OIL, clicks={}, tables={valve.name: table_of(valve)}
    )


SETS = {name: paths_of(name) for name in VALVES}
NAMES = st.sampled_from(sorted(VALVES))
LOGS = st.floats(math.log(3e3), math.log(5e7))
KINK: Final = 0.08
"""Change of the lift's logarithmic slope over three steps of the table that only a contact makes: two stages' slope
falls from 0.67 to 0.55 where the crossover closes, and by 0.05 at most over three steps elsewhere."""


@given(name=NAMES, y=LOGS)
def test_slopes_are_derivatives(name: str, y: float) -> None:
    """Against central differences; away from the opening pressures, where a derivative jumps."""
    found, step = SETS[name], 1e-6
    arrays = (found.plain, found.lifters, found.tables, found.knots)
    ahead, behind = total_flow(*arrays, y + step)[0], total_flow(*arrays, y - step)[0]
    flow, slope = total_flow(*arrays, y)
    sides = ((ahead - flow) / step, (flow - behind) / step)
    assert min(sides) - 1e-3 * flow <= slope <= max(sides) + 1e-3 * flow


@given(name=NAMES, flow=st.floats(1e-9, 2e-3), guess=st.floats(0, 20))
def test_the_drop_found_for_a_flow_drives_that_flow(name: str, flow: float, guess: float) -> None:
    found = SETS[name]
    arrays = (found.plain, found.lifters, found.tables, found.knots)
    y = drop_for_flow(*arrays, flow, guess)
    assert total_flow(*arrays, y)[0] == pytest.approx(flow, rel=1e-10)
    assert y == pytest.approx(drop_for_flow(*arrays, flow, math.nan), abs=1e-10)


@given(name=NAMES, y=LOGS, more=st.floats(1e-6, 2))
def test_flow_and_face_pressure_rise_with_the_drop(name: str, y: float, more: float) -> None:
    found = SETS[name]
    for row, table, knots in zip(found.lifters, found.tables, found.knots, strict=True):
        flow, _, face = lifter_flow(row, table, knots, y)
        flow_more, _, face_more = lifter_flow(row, table, knots, y + more)
        assert flow_more >= flow >= 0
        assert face_more > face
        assert face <= y


@given(name=NAMES, y=LOGS)
def test_a_stack_passes_less_than_its_ports_alone(name: str, y: float) -> None:
    found = SETS[name]
    ports = VALVES[name].ports(oil=OIL)
    assert lifter_flow(found.lifters[0], found.tables[0], found.knots[0], y)[0] < ports.flow(dp=math.exp(y))


@given(name=NAMES, x=st.floats(math.log(LOWEST), math.log(1e7)))
@settings(max_examples=30, deadline=None)
def test_the_lift_between_the_tables_pressures_is_that_of_the_plates(name: str, x: float) -> None:
    """Within 0.1 % or a tenth of a micron; wider where the lift has a kink, which the table rounds off.

    That is 0.2 % in the table's step in which a crossover closes, a micron in that in which a dished stack leaves
    its lip.
    """
    valve, found = VALVES[name], SETS[name]
    step = 1.5 * math.log(10) / PER_DECADE
    curve = lift_curve(
        valve.packed(valve.stack, steel=STEEL),
        seat=valve.seat,
        load=valve.face_pressure,
        pressures=np.exp([x - step, x, x + step]),
    )
    before, here, after = curve.seat_lift
    leaves = before == 0 < after
    closes = before > 0 and np.ptp(curve.seat_compliance * curve.pressures / curve.seat_lift) > KINK
    lift, _ = lift_of(found.lifters[0], found.tables[0], found.knots[0], x)
    assert lift == pytest.approx(here, rel=2e-3 if closes else 1e-3, abs=1e-6 if leaves else 1e-7)


def test_beyond_the_table_lift_goes_on_without_a_step() -> None:
    found = SETS["plain"]
    row, table, knots = found.lifters[0], found.tables[0], found.knots[0]
    for end in (math.log(LOWEST), math.log(table_of(VALVES["plain"]).top)):
        inside, outside = (lift_of(row, table, knots, end + shift) for shift in (-1e-9, 1e-9))
        assert outside[0] == pytest.approx(inside[0], rel=1e-8)
        assert outside[1] == pytest.approx(inside[1], rel=1e-3)


def test_another_stacks_lift_is_met_at_the_pressures_where_it_is_known() -> None:
    found = SETS["two stages"]
    pressures = np.geomspace(1e5, 5e6, 8)
    logs = np.log(pressures)
    own = np.array([lift_of(found.lifters[0], found.tables[0], found.knots[0], x)[0] for x in logs])
    other = own * np.linspace(0.5, 1.5, 8)
    changed = found.with_lift(0, pressures, other, own)
    assert [
        lift_of(changed.lifters[0], changed.tables[0], changed.knots[0], x)[0] for x in logs
    ] == pytest.approx(other)


def test_a_shut_stack_passes_next_to_nothing() -> None:
    found = SETS["plain"]
    pressures = np.geomspace(1e5, 5e6, 8)
    own = np.array(
        [lift_of(found.lifters[0], found.tables[0], found.knots[0], x)[0] for x in np.log(pressures)]
    )
    shut = found.with_lift(0, pressures, np.zeros(8), own)
    flows = [
        lifter_flow(one.lifters[0], one.tables[0], one.knots[0], math.log(1e6))[0] for one in (shut, found)
    ]
    assert flows[0] < 1e-9 * flows[1]


def test_a_flow_that_is_not_a_number_is_an_error() -> None:
    with pytest.raises(ConvergenceError, match="no pressure drop found for a flow of nan"):
        SETS["plain"].drops(np.array([math.nan]))


# Searches that do not end.


@pytest.fixture
def two_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every root search, run as plain Python, ends after two steps."""
    for module in (lift_kernel, flow_kernel, path_set_module, demand):
        monkeypatch.setattr(module, "MOST_STEPS", 2)
        for name, function in list(vars(module).items()):
            if hasattr(function, "py_func"):
                monkeypatch.setattr(module, name, function.py_func)


@pytest.mark.usefixtures("two_steps")
def test_a_root_search_that_runs_out_of_steps_returns_nan_and_no_number() -> None:
    found = SETS["plain"]
    row, table, knots = found.lifters[0], found.tables[0], found.knots[0]
    arrays = (found.plain, found.lifters, found.tables, found.knots)
    assert np.isnan(flow_kernel.lifter_flow(row, table, knots, math.log(1e6))).all()
    assert np.isnan(flow_kernel.total_flow(*arrays, math.log(1e6))).all()
    assert math.isnan(flow_kernel.drop_for_flow(*arrays, 1e-4, math.nan))
    assert math.isnan(flow_kernel.gap_for_flow(row, 1e-4, 1e6))
    assert math.isnan(lift_kernel.own_pressure(row, table, 1e-4))


@pytest.mark.usefixtures("two_steps")
@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda paths: paths.flow(1e6), "no flow found for a pressure drop of 10 bar past"),
        (lambda paths: paths.split(np.array([0.0, 1e6])), "no flow found for a pressure drop of 10 bar past"),
        (
            lambda paths: paths.drops(np.array([1e-4])),
            "no pressure drop found for a flow of 0.0001 m³/s past",
        ),
        (
            lambda paths: paths.face_pressures(np.array([0.0, 1e6])),
            "no face pressure found for a pressure drop of 10 bar past",
        ),
        (
            lambda paths: paths.with_lift(0, np.array([1e6]), np.array([1e-4]), None),
            "no pressure found for a lift of 0.1 mm past",
        ),
    ],
)
def test_a_root_search_that_runs_out_of_steps_is_an_error_with_its_figures(
    ask: Callable[..., Any], words: str
) -> None:
    with pytest.raises(ConvergenceError) as error:
        ask(SETS["plain"])
    assert str(error.value) == f"{words} compression stack, refill check within 2 steps."


@pytest.mark.usefixtures("two_steps")
def test_a_lift_that_is_not_found_for_a_force_is_an_error_with_its_figures() -> None:
    alone = SETS["plain"].without(1)
    with pytest.raises(
        ConvergenceError, match=r"no lift found for a flow of 8\.0\d+e-05 m³/s at 9\.\d+ bar under 'compr"
    ):
        demand.face_demand(alone, 0, others=alone.without(0), flow=1e-4, drop=1e6)
