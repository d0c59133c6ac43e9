"""A damper with unknown figures drawn again: what moves, what stays, and by how much."""

import math
from dataclasses import replace

import numpy as np
import pytest

from damping_model.damper.force import force_curve
from damping_model.stack.lift import lift_curve
from damping_model.stack.stack import Shim, Stack
from damping_model.stack.steel import SpringSteel
from optimiser.files.damper_builder import read_damper
from optimiser.model.unmeasured import Unmeasured
from optimiser.unknowns.damper_unknowns import damper_unknowns
from optimiser.unknowns.real_thicknesses import same_steel, told_only, with_real_thicknesses
from optimiser.unknowns.unknown import Distribution, Move, Owner, Unknown
from optimiser.unknowns.varied import varied
from tests.helpers.paths import DEMO

DESCRIBED = read_damper(DEMO / "dampers" / "tarn_shock.toml")
UNKNOWNS = damper_unknowns(DESCRIBED, comes=[0.10e-3, 0.20e-3])
SPEEDS = np.array([0.05, 0.3, 1.0])


def named(owner: Owner | str, figure: str) -> Unknown:
    (found,) = (one for one in UNKNOWNS if (one.owner, one.figure) == (owner, figure))
    return found


def forces(*draws: tuple[Unknown, float]) -> np.ndarray:
    moved = varied(DESCRIBED.damper, dict(draws))
    return force_curve(moved.damper, velocities=SPEEDS, steel=moved.steel).damping_force


def test_draws_of_zero_leave_the_damper_as_it_is() -> None:
    assert varied(DESCRIBED.damper, dict.fromkeys(UNKNOWNS, 0.0)).damper == DESCRIBED.damper


@pytest.mark.parametrize("unknown", UNKNOWNS, ids=lambda one: one.words)
def test_each_unknown_moves_the_damper_or_its_steel_or_the_shelf_and_no_name_in_it(unknown: Unknown) -> None:
    moved = varied(DESCRIBED.damper, {unknown: 1.0})
    own = moved.damper != DESCRIBED.damper or moved.steel != varied(DESCRIBED.damper, {}).steel
    assert own == (unknown.owner is not Owner.SHIMS_OF_THE_SHELF)
    assert [path.name for path in moved.damper.paths] == [path.name for path in DESCRIBED.damper.paths]


def test_a_stiffer_steel_and_thicker_shims_give_more_force_and_wider_ways_less() -> None:
    before = forces()
    stiffer = (Owner.STEEL, "youngs_modulus"), (Owner.SHIMS_INSIDE, "100"), (Owner.OIL, "viscosity")
    assert all((forces((named(*one), 1.0)) > before).all() for one in stiffer)
    wider = ("compression stack", "port_area"), ("low-speed compression", "areas")
    assert all((forces((named(*one), 1.0)) < before).all() for one in wider)


def test_a_needle_one_click_further_out_is_one_click() -> None:
    needle = named("low-speed compression", "needle")
    there = {"low-speed compression": DESCRIBED.damper.clicker("low-speed compression").position + 1}
    clicked = force_curve(DESCRIBED.damper, velocities=SPEEDS, clicks=there).damping_force
    assert forces((needle, 1 / needle.uncertainty)) == pytest.approx(clicked)


def test_shims_that_stay_carry_the_error_of_the_damper_and_those_that_come_that_of_the_shelf() -> None:
    inside, shelf = named(Owner.SHIMS_INSIDE, "100"), named(Owner.SHIMS_OF_THE_SHELF, "100")
    stack = Stack((Shim(20e-3, 0.1e-3, 8e-3), Shim(18e-3, 0.1e-3, 8e-3), Shim(16e-3, 0.3e-3, 8e-3)))
    moved = varied(DESCRIBED.damper, {inside: 1.0, shelf: -1.0})
    built = moved.with_stack("compression stack", stack, stays=lambda place: place == 0)
    thick = [shim.thickness for shim in built.stack_path("compression stack").stack.shims]
    assert thick == pytest.approx([0.1e-3 + inside.uncertainty, 0.1e-3 - shelf.uncertainty, 0.3e-3])


def test_the_uncertainty_of_strip_is_that_of_a_rectangle_between_the_limits_of_the_standard() -> None:
    shims = named(Owner.SHIMS_INSIDE, "100")
    assert (shims.distribution, shims.move) == (Distribution.RECTANGULAR, Move.SHIFT)
    assert shims.uncertainty * math.sqrt(3) == pytest.approx(6e-6)


def test_what_the_file_says_was_not_measured_carries_its_own_uncertainty() -> None:
    noted = (
        Unmeasured("a", 0.3, "compression stack", "port_area"),
        Unmeasured("b", 0.1, "", "piston_diameter"),
        Unmeasured("c", 0.25, "oil", "temperature"),
    )
    found = {(one.owner, one.figure): one for one in damper_unknowns(replace(DESCRIBED, not_measured=noted))}
    ports, other = found["compression stack", "port_area"], found["rebound stack", "port_area"]
    assert (ports.measured, other.measured) == (False, True)
    assert ports.uncertainty == pytest.approx(math.log(1.3) / 1.96)
    assert found[Owner.DAMPER, "swept_area"].uncertainty == pytest.approx(2 * math.log(1.1) / 1.96)
    assert found[Owner.DAMPER, "temperature"].uncertainty == pytest.approx(0.25 * 40 / 1.96)


def test_a_draw_far_out_stands_at_what_the_figure_can_be() -> None:
    moved = varied(DESCRIBED.damper, {named("compression stack", "port_discharge"): 50.0})
    assert moved.damper.stack_path("compression stack").port_discharge == 1.0


def test_shims_of_two_batches_side_by_side_stay_one_plate_and_bend_as_they_would_apart() -> None:
    inside, shelf = named(Owner.SHIMS_INSIDE, "100"), named(Owner.SHIMS_OF_THE_SHELF, "100")
    stack = Stack((Shim(20e-3, 0.1e-3, 8e-3),) * 4 + (Shim(14e-3, 0.3e-3, 8e-3),))
    moved = varied(DESCRIBED.damper, {inside: 1.0, shelf: -1.0})
    built = moved.with_stack("compression stack", stack, stays=lambda place: place % 2 == 0)
    path = built.stack_path("compression stack")
    thick = [0.1e-3 + (1, -1)[place % 2] * inside.uncertainty for place in range(4)]
    apart = Stack(
        tuple(replace(shim, thickness=one) for shim, one in zip(stack.shims, [*thick, 0.3e-3], strict=True))
    )
    lifts = [
        lift_curve(
            path.packed(one, steel=moved.steel),
            seat=path.seat,
            load=path.face_pressure,
            pressures=np.geomspace(1e5, 3e6, 8),
        ).seat_lift
        for one in (path.stack, apart)
    ]
    assert len(path.packed(path.stack, steel=moved.steel).packs) == 2
    assert lifts[0] == pytest.approx(lifts[1], rel=1e-3)


def test_friction_holds_an_opening_stack_down_and_a_closing_one_up_by_its_interfaces() -> None:
    friction = named("compression stack", "interface_load")
    closing, plain, opening = (forces((friction, draw)) for draw in (-1.0, 0.0, 1.0))
    assert (closing < plain).all()
    assert (plain < opening).all()
    path = DESCRIBED.damper.stack_path("compression stack")
    moved = varied(DESCRIBED.damper, {friction: 1.0}).damper.stack_path("compression stack")
    steel = SpringSteel()
    bending = sum(shim.outer_diameter > 2 * path.seat.clamp_radius for shim in path.stack.shims)
    stiffer = (
        moved.packed(moved.stack, steel=steel).packs[0].bending
        / path.packed(path.stack, steel=steel).packs[0].bending
    )
    assert stiffer == pytest.approx(1 + friction.uncertainty * (bending - 1))


def test_flat_shims_have_less_friction_than_disc_springs_and_more_than_none() -> None:
    """Disc springs: up to 0.03 an interface (a supplier's manual, springmasters.com)."""
    most = named("compression stack", "interface_load").uncertainty * math.sqrt(3)
    assert 0.001 < most < 0.03


def test_draws_say_anew_how_thick_shims_are_whatever_was_told_of_the_damper() -> None:
    told = with_real_thicknesses(DESCRIBED.damper, ((0.10e-3, 0.103e-3),))
    assert told != DESCRIBED.damper
    assert varied(told, {}).damper == DESCRIBED.damper
    thicker = {named(Owner.SHIMS_INSIDE, "100"): 1.0}
    assert varied(told, thicker).damper == varied(DESCRIBED.damper, thicker).damper


def test_shims_are_the_same_steel_until_one_of_their_thickness_comes_in() -> None:
    thin, thick = Shim(20e-3, 0.1e-3, 8e-3), Shim(20e-3, 0.2e-3, 8e-3)
    before = [Stack((thin, thin, thick)), Stack((thick,))]
    assert same_steel(before, before) == {"100", "200"}
    assert same_steel(before, [Stack((thin, thick, thick)), Stack((thin,))]) == {"100", "200"}
    assert same_steel(before, [Stack((thin, thick)), Stack((thick, thick))]) == {"100"}
    assert same_steel(before, [Stack((thin, replace(thin, outer_diameter=18e-3), thick))]) == {"200"}
    told = with_real_thicknesses(DESCRIBED.damper, ((0.10e-3, 0.103e-3), (0.15e-3, 0.149e-3)))
    assert told_only(told, {"150"}) == with_real_thicknesses(DESCRIBED.damper, ((0.15e-3, 0.149e-3),))
