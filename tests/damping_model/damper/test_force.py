"""Force curves: limits worked by hand (docs/model/flow-and-force.md), gas, friction, cavitation, clicks, refusals."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from damping_model.damper.damper import Chamber, Damper, Valve
from damping_model.damper.force import force_curve
from damping_model.errors import GeometryError, ModelError
from damping_model.flow.paths import Bleed, CheckPlate
from damping_model.stack.lift import Seat
from damping_model.stack.steel import SpringSteel
from damping_model.units import kelvin
from tests.helpers.circuits import (
    ABOVE,
    BELOW,
    CHAMBERS,
    EVERY,
    GAS,
    RING,
    SHAFT,
    compression_valve,
    fork_cartridge,
    monotube,
    rebound_valve,
    stack,
)

SPEEDS = np.geomspace(0.01, 3.0, 20)
BOTH = np.concatenate([-SPEEDS[::-1], SPEEDS])
ATMOSPHERE = 101325.0

# The hand's figures: oil of 842.22 kg/m³ and 12.296 mPa s at 40 °C, piston 27 mm, shaft 10 mm.


def test_the_oil_of_the_worked_limits_is_the_one_on_the_page() -> None:
    state = monotube().oil.at(temperature=kelvin(celsius=40))
    assert state.density == pytest.approx(842.22, abs=0.005)
    assert state.dynamic_viscosity == pytest.approx(0.012296, abs=1e-6)


def test_with_a_rigid_stack_the_bleed_alone_sets_the_force() -> None:
    """A hole of 1.5 mm, 2 mm long: 0.1 m/s drives 49.40 cm³/s through it, 5.283 bar, 261.0 N."""
    bleed = Bleed(name="bleed", diameter=1.5e-3, length=2e-3, discharge=0.8)
    rigid = compression_valve(stack("20x30"))
    curve = force_curve(monotube(paths=(rigid, rebound_valve(), bleed)), velocities=[0.1])
    assert curve.flows[0, 0] == pytest.approx(4.940e-5, rel=1e-4)
    assert curve.drops[0, 0] == pytest.approx(5.283e5, rel=2e-4)
    assert round(curve.shares[0, 0], 1) == 261.0


def test_with_the_stack_removed_the_ports_alone_set_the_force() -> None:
    """Four ports of 46 mm² in all, 7 mm long: 2 m/s takes 3.089 bar, 152.6 N."""
    diameter = 2 * math.sqrt(46e-6 / 4 / math.pi)
    ports = Bleed(name="ports", diameter=diameter, count=4, length=7e-3, discharge=0.8, direction=1)
    curve = force_curve(monotube(paths=(ports, rebound_valve())), velocities=[2.0])
    assert curve.drops[0, 0] == pytest.approx(3.089e5, rel=2e-4)
    assert round(curve.shares[0, 0], 1) == 152.6


def test_a_stack_of_ever_softer_steel_comes_down_to_the_ports_alone() -> None:
    valve = compression_valve(stack("20x0.1"), open_share=1.0)
    forces = [
        force_curve(
            monotube(paths=(valve, rebound_valve(), RING)),
            velocities=[2.0],
            steel=SpringSteel(youngs_modulus=modulus),
        ).shares[0, 0]
        for modulus in (206e9, 2e9, 2e7, 2e6)
    ]
    assert forces == sorted(forces, reverse=True)
    assert forces[-1] > 152.6
    assert forces[-1] == pytest.approx(152.6, rel=0.06)


def test_with_all_else_closed_the_ring_alone_sets_the_force() -> None:
    """12 µm around 27 mm, 4 mm long, half eccentric: 1 mm/s takes 14.467 bar, 714.7 N, the same both ways."""
    curve = force_curve(monotube(paths=(RING,)), velocities=[1e-3, -1e-3])
    assert curve.drops[0] == pytest.approx([1.4467e6, -1.4467e6], rel=1e-4)
    assert [round(force, 1) for force in curve.shares[0]] == [714.7, -714.7]


def test_below_cracking_a_preloaded_stack_passes_nothing() -> None:
    """The lip 0.1 mm proud: at crawling speed only ring and clicker count, as if the stack were rigid."""
    seat = Seat(clamp_radius=4.5e-3, seat_radius=8.5e-3, seat_height=0.1e-3)
    paths = (rebound_valve(), RING, Bleed(name="bleed", diameter=1e-3, length=1e-3))
    preloaded, rigid = (
        force_curve(monotube(paths=(valve, *paths)), velocities=[0.005, 1.0]).shares[0]
        for valve in (
            compression_valve(stack("3x20x0.2 15x0.2"), seat=seat),
            compression_valve(stack("20x30")),
        )
    )
    assert preloaded[0] == pytest.approx(rigid[0], rel=1e-9)
    assert preloaded[1] < 0.5 * rigid[1]


# Gas, friction, chambers.


def test_gas_pushes_on_the_shaft_alone_and_is_no_damping() -> None:
    damper = monotube(gas=14e5)
    curve = force_curve(damper, velocities=BOTH)
    assert curve.gas_force == pytest.approx(14e5 * SHAFT)
    assert force_curve(monotube(gas=7e5), velocities=BOTH).damping_force == pytest.approx(
        curve.damping_force, rel=1e-12
    )
    assert (curve.pressures[-1] == 14e5).all()
    assert curve.total_force == pytest.approx(curve.damping_force + 14e5 * SHAFT + 18.0 * np.sign(BOTH))


def test_gas_under_the_piston_pushes_the_shaft_out_by_its_section() -> None:
    """15 bar on a shaft of 14 mm: 231 N, whichever space the gas is described in."""
    section = math.pi / 4 * 14e-3**2
    upside_down = Damper(
        name="gas under the piston",
        chambers=(Chamber(name="above", swept_area=-math.pi / 4 * (36e-3**2 - 14e-3**2)),),
        reservoir="below",
        gas_pressure=15e5,
        valves=(
            Valve(
                name="piston",
                from_chamber="below",
                to_chamber="above",
                paths=(Bleed(name="bleed", diameter=1.5e-3, length=2e-3, discharge=0.8),),
            ),
        ),
        oil=monotube().oil,
        temperature=monotube().temperature,
        shaft_section=section,
    )
    assert force_curve(upside_down, velocities=[0.1]).gas_force == pytest.approx(15e5 * section)
    assert round(15e5 * section) == 231


def test_at_rest_there_is_no_damping() -> None:
    curve = force_curve(fork_cartridge(), velocities=[0.0, 0.1])
    assert curve.damping_force[0] == 0
    assert curve.friction_force[0] == 0
    assert curve.pressures[:, 0] == pytest.approx(1.5e5)


def test_the_reservoir_may_be_the_space_below_the_piston() -> None:
    """A damper with its gas behind a floating piston in the tube: no base valve, and the gas sets the pressure."""
    annulus = math.pi / 4 * (27e-3**2 - 10e-3**2)
    main = dataclasses.replace(monotube().valves[0], from_chamber=GAS)
    plain = monotube(chambers=(Chamber(name=ABOVE, swept_area=-annulus),), valves=(main,))
    curve = force_curve(plain, velocities=BOTH)
    assert curve.damping_force == pytest.approx(force_curve(monotube(), velocities=BOTH).shares[0], rel=1e-12)
    assert curve.pressures[1] == pytest.approx(14e5)


@pytest.mark.parametrize("make", EVERY)
def test_order_and_number_of_velocities_do_not_matter(make: Callable[..., Any]) -> None:
    order = np.random.default_rng(1).permutation(BOTH.size)
    whole, mixed = force_curve(make(), velocities=BOTH), force_curve(make(), velocities=BOTH[order])
    assert mixed.damping_force == pytest.approx(whole.damping_force[order], rel=1e-8)
    alone = [force_curve(make(), velocities=[v]).damping_force[0] for v in BOTH[::7]]
    assert alone == pytest.approx(whole.damping_force[::7], rel=1e-8)


# Cavitation.


@pytest.mark.parametrize(("gas", "fast"), [(3e5, 0.3), (14e5, 3.0)])
def test_at_the_cavitation_velocity_a_chamber_is_at_the_vapour_pressure(gas: float, fast: float) -> None:
    damper = monotube(gas=gas)
    end = force_curve(damper, velocities=SPEEDS[fast >= SPEEDS]).cavitation[0]
    lowest = force_curve(damper, velocities=[end]).pressures.min() + ATMOSPHERE
    assert lowest == pytest.approx(damper.oil.vapour_pressure, abs=5.0)


def test_more_gas_pressure_puts_cavitation_off() -> None:
    ends = [force_curve(monotube(gas=gas), velocities=SPEEDS).cavitation[0] for gas in (1e5, 5e5, 14e5)]
    assert ends == sorted(ends)


def test_figures_are_promised_up_to_the_cavitation_velocity_and_no_further() -> None:
    curve = force_curve(monotube(gas=5e5), velocities=BOTH)
    end = curve.cavitation[0]
    assert SPEEDS[0] < end < SPEEDS[-1]
    assert (curve.promised == ((end > BOTH) | (BOTH < 0))).all()
    assert math.isnan(curve.cavitation[1])


def test_without_cavitation_everything_is_promised() -> None:
    curve = force_curve(monotube(gas=14e5), velocities=[-1.0, 0.05])
    assert np.isnan(curve.cavitation).all()
    assert curve.promised.all()


# Temperatures and clicks.


def test_force_falls_with_every_degree() -> None:
    warmths = [kelvin(celsius=t) for t in (0, 20, 40, 60, 80)]
    curves = [force_curve(monotube(), velocities=BOTH, temperature=warmth) for warmth in warmths]
    forces = np.array([curve.force_against_motion for curve in curves])
    assert (np.diff(forces, axis=0) < 0).all()
    assert [curve.temperature for curve in curves] == warmths


def test_force_falls_with_every_click_in_its_stroke_and_moves_nothing_in_the_other() -> None:
    curves = [
        force_curve(monotube(), velocities=BOTH, clicks={"low-speed compression": click})
        for click in range(13)
    ]
    forces = np.array([curve.force_against_motion for curve in curves])
    assert (np.diff(forces[:, BOTH > 0], axis=0) < 0).all()
    assert (np.diff(forces[:, BOTH < 0], axis=0) == 0).all()
    assert dict(curves[3].clicks) == {"low-speed compression": 3, "rebound": 7}


def test_the_effect_of_bleed_shrinks_as_speed_rises() -> None:
    """Adv. Mech. Eng. (2017), doi 10.1177/1687814017719004: largest at low speed."""
    few, many = (
        force_curve(monotube(), velocities=SPEEDS, clicks={"low-speed compression": click})
        for click in (2, 10)
    )
    loss = 1 - many.shares[0] / few.shares[0]
    assert loss[0] > 2 * loss[-1] > 0


# Refusals.


def with_main(*paths: object) -> Damper:
    return monotube(paths=paths)


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda: force_curve(monotube(), velocities=[math.nan]), "Are they in mm/s?"),
        (lambda: force_curve(monotube(), velocities=[500.0]), "expected a list of numbers within 50 m/s"),
        (lambda: force_curve(monotube(), velocities=[]), "expected a list of numbers"),
        (lambda: force_curve(monotube(), velocities=[0.1], temperature=40.0), "Is it in °C instead of K?"),
        (lambda: force_curve(monotube(), velocities=[0.1], clicks={"rebund": 3}), "Did you mean 'rebound'?"),
        (
            lambda: force_curve(monotube(), velocities=[0.1], clicks={"rebound": 13}),
            "got 13 clicks out, expected 0 to 12",
        ),
        (lambda: force_curve(monotube(), velocities=[0.1], clicks={"rebound": -1}), "got -1 clicks out"),
        (
            lambda: force_curve(fork_cartridge(), velocities=[0.1], clicks={"compresion": 1}),
            "Did you mean 'compression'?",
        ),
        (lambda: monotube().stack_path("compresion stack"), "Did you mean 'compression stack'?"),
        (
            lambda: force_curve(with_main(compression_valve()), velocities=[0.1, -0.1]),
            "next to no way from 'above the piston' to 'below the piston': -0.1 m/s would take",
        ),
        (lambda: monotube(gas=-1.0), "got -1 for the gas pressure"),
        (lambda: monotube(friction=math.nan), "got nan for the friction"),
        (lambda: monotube(chambers=()), "got no chambers"),
        (
            lambda: monotube(chambers=(*CHAMBERS, Chamber(name="x", swept_area=0.0))),
            "no valve joins 'x' to the reservoir",
        ),
        (lambda: monotube(chambers=(*CHAMBERS, CHAMBERS[0])), "got chamber 'below the piston' twice"),
        (lambda: monotube(chambers=(Chamber(name=BELOW, swept_area=math.inf),)), "got an area of inf"),
        (lambda: with_main(RING, RING), "got path 'piston ring' twice"),
        (with_main, "valve 'main piston': got no paths"),
        (lambda: monotube(monotube().valves[0]), "got valve 'main piston' twice"),
        (lambda: Valve(name="v", from_chamber="a", to_chamber="a", paths=(RING,)), "got 'a' at both ends"),
        (
            lambda: monotube(
                Valve(
                    name="v", from_chamber="a", to_chamber=GAS, paths=(dataclasses.replace(RING, name="r"),)
                )
            ),
            "valve 'v': got 'a', expected one of below the piston, above the piston, gas side",
        ),
    ],
)
def test_bad_input_is_refused_with_what_was_got_and_the_way_out(ask: Callable[..., Any], words: str) -> None:
    with pytest.raises(GeometryError) as error:
        ask()
    assert words in str(error.value)


def test_a_stack_that_the_plates_refuse_is_named() -> None:
    narrow = compression_valve(stack("16x0.2"))
    with pytest.raises(ModelError, match="stack 'compression stack' of damper 'trail shock'"):
        force_curve(monotube(paths=(narrow, RING)), velocities=[0.1])


def test_a_check_that_springs_open_at_once_holds_its_opening_pressure() -> None:
    """500 bar, then no resistance to speak of: the hardest step there is for a root search."""
    sudden = CheckPlate(
        name="check",
        direction=1,
        port_area=1e-4,
        seat_radius=1e-2,
        opening_pressure=5e7,
        spring_rate=1.0,
        lift_stop=1e-3,
    )
    curve = force_curve(monotube(paths=(sudden, RING, rebound_valve())), velocities=[0.05, 0.1, 0.2])
    assert curve.drops[0] == pytest.approx(5e7, rel=1e-3)
    assert (np.diff(curve.drops[0]) > 0).all()
