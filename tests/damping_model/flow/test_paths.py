"""Ways past the piston: what each lets through, one way or both, and what is refused."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from damping_model.errors import GeometryError
from damping_model.flow.oil import OilState
from damping_model.flow.path_set import path_set
from damping_model.flow.paths import Bleed, CheckPlate, Clicker, RingLeak
from damping_model.stack.lift import Seat
from tests.helpers.circuits import compression_valve, refill_check, stack

OIL = OilState(density=860.0, dynamic_viscosity=0.0125, vapour_pressure=1000.0)
NEEDLE = Clicker(name="needle", areas=(0.0, 1e-7, 1e-7, 4e-7), position=1)
DROPS = st.floats(10.0, 2e7)


def flow(*paths: object, drop: float, towards: int = 1, clicks: dict[str, int] | None = None) -> float:
    """Flow of paths side by side."""
    found = path_set([(path, towards) for path in paths], oil=OIL, clicks=clicks or {}, tables={})  # type: ignore[misc]
    return found.flow(drop)[0]


NOTHING = 1e-6
"""Flow past shut seats, as a share of the smallest flow below. [-]"""


@given(drop=DROPS)
def test_paths_side_by_side_add_up(drop: float) -> None:
    bleed, ring = (
        Bleed(name="b", diameter=1e-3, length=1e-3),
        RingLeak(name="r", diameter=27e-3, clearance=2e-5, length=4e-3),
    )
    check = refill_check(direction=1)
    parts = sum(flow(path, drop=drop) for path in (bleed, ring, check))
    assert flow(bleed, ring, check, drop=drop) == pytest.approx(parts, rel=1e-6)


@given(drop=DROPS)
def test_a_two_way_path_passes_the_same_both_ways(drop: float) -> None:
    for path in (
        Bleed(name="b", diameter=1e-3),
        NEEDLE,
        RingLeak(name="r", diameter=27e-3, clearance=2e-5, length=4e-3),
    ):
        assert flow(path, drop=drop) == flow(path, drop=drop, towards=-1) > 0


@pytest.mark.parametrize("direction", [1, -1])
def test_a_one_way_path_passes_one_way_only(direction: int) -> None:
    for path in (
        Bleed(name="b", diameter=1e-3, direction=direction),
        dataclasses.replace(NEEDLE, direction=direction),
        refill_check(direction=direction),
    ):
        open_way, shut_way = (flow(path, drop=1e6, towards=towards) for towards in (direction, -direction))
        assert shut_way < NOTHING * open_way


def test_more_clicks_out_let_more_through_and_equal_areas_the_same() -> None:
    flows = [flow(NEEDLE, drop=1e6, clicks={"needle": position}) for position in range(4)]
    assert flows[0] < NOTHING * flows[1]
    assert flows[1] == flows[2] < flows[3]
    assert flow(NEEDLE, drop=1e6) == flows[1]


def test_a_check_stays_shut_below_its_opening_pressure() -> None:
    check = refill_check(direction=1)
    assert flow(check, drop=0.999 * check.opening_pressure) < NOTHING * flow(
        check, drop=2 * check.opening_pressure
    )


def test_a_check_lifts_as_its_spring_says_and_then_its_ports_hold_it() -> None:
    """Curtain and ports worked by hand, from a soft spring, at an easy pressure."""
    check = CheckPlate(
        name="c", direction=1, port_area=60e-6, seat_radius=10e-3, opening_pressure=1e4, spring_rate=1e5,
        lift_stop=1e-3, curtain_discharge=0.7, port_discharge=0.8,
    )  # fmt: skip
    face = 2e5
    lift = (face - 1e4) * 60e-6 / 1e5
    assert lift < 0.12 * check.lift_stop  # the stop's own softness is then below 1e-4 of it
    width = 2 * math.pi * 10e-3
    a = 32 * OIL.dynamic_viscosity / (math.pi * width * lift**2)
    b = OIL.density / (2 * (0.7 * width * lift) ** 2)
    through = (math.sqrt(a * a + 4 * b * face) - a) / (2 * b)
    radius = math.sqrt(60e-6 / math.pi)
    drop = (
        face
        + 3 * OIL.dynamic_viscosity / radius**3 * through
        + OIL.density / (2 * (0.8 * 60e-6) ** 2) * through**2
    )
    assert flow(check, drop=drop) == pytest.approx(through, rel=2e-4)


@given(drop=DROPS, more=st.floats(1.0001, 4))
def test_no_plate_passes_more_than_its_ports(drop: float, more: float) -> None:
    check = dataclasses.replace(refill_check(direction=1), spring_rate=1.0, opening_pressure=0.0)
    ports = Bleed(name="p", diameter=math.sqrt(4 / math.pi * check.port_area), discharge=check.port_discharge)
    assert flow(check, drop=drop) < flow(ports, drop=drop)
    assert flow(check, drop=drop * more) > flow(check, drop=drop)


@given(stop=st.floats(0.2e-3, 2e-3))
def test_at_its_stop_a_check_has_no_kink(stop: float) -> None:
    """The slope of ln Q against ln dp changes by little from one pressure to the next one, 1 % higher."""
    check = dataclasses.replace(refill_check(direction=1), lift_stop=stop)
    drops = [2e4 * 1.01**k for k in range(400)]
    flows = [flow(check, drop=drop) for drop in drops]
    slopes = [math.log(b / a) / math.log(1.01) for a, b in pairwise(flows)]
    assert max(abs(b - a) for a, b in pairwise(slopes)) < 0.03


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Bleed(name="b", diameter=0.0), "'b': got 0 for the diameter"),
        (lambda: Bleed(name="b", diameter=math.nan), "'b': got nan for the diameter"),
        (lambda: Bleed(name="b", diameter=1e-3, length=-1e-3), "'b': got -0.001 for the length"),
        (lambda: Bleed(name="b", diameter=1e-3, count=0), "'b': got 0 holes"),
        (
            lambda: Bleed(name="b", diameter=1e-3, discharge=1.2),
            "got a discharge coefficient of 1.2, expected 0.3 to 1",
        ),
        (
            lambda: Bleed(name="b", diameter=1e-3, direction=2),
            "got direction 2, expected 1 (from first to second",
        ),
        (lambda: Clicker(name="c", areas=(), position=0), "'c': got no areas"),
        (lambda: Clicker(name="c", areas=(2e-7, 1e-7), position=0), "an area that falls from click 0 to 1"),
        (lambda: Clicker(name="c", areas=(-1e-7, 1e-7), position=0), "got -1e-07 for the area at 0 clicks"),
        (lambda: Clicker(name="c", areas=(1e-7, 2e-7), position=2), "got 2 clicks out, expected 0 to 1"),
        (lambda: RingLeak(name="r", diameter=1e-2, clearance=0, length=1e-3), "'r': got 0 for the clearance"),
        (
            lambda: RingLeak(name="r", diameter=1e-2, clearance=1e-5, length=1e-3, eccentricity=1.1),
            "eccentricity of 1.1",
        ),
        (
            lambda: dataclasses.replace(refill_check(direction=1), direction=0),
            "got direction 0, expected 1 (from first",
        ),
        (
            lambda: dataclasses.replace(refill_check(direction=1), spring_rate=0.0),
            "got 0 for the spring rate",
        ),
        (
            lambda: dataclasses.replace(refill_check(direction=1), opening_pressure=-1.0),
            "got -1 for the opening pressure",
        ),
        (lambda: dataclasses.replace(refill_check(direction=1), open_share=0.0), "got an open share of 0"),
        (lambda: dataclasses.replace(refill_check(direction=1), port_count=0), "got 0 ports"),
        (lambda: compression_valve(port_area=0.0), "got 0 for the port area"),
        (lambda: compression_valve(port_count=0), "got 0 ports"),
        (lambda: compression_valve(direction=0), "got direction 0"),
        (lambda: compression_valve(open_share=1.5), "got an open share of 1.5"),
        (lambda: compression_valve(curtain_discharge=0.2), "got a discharge coefficient of 0.2"),
        (
            lambda: compression_valve(port_inner_radius=4e-3),
            "got the diameters clamp 9 mm, ports' inner 8 mm",
        ),
        (
            lambda: compression_valve(port_outer_radius=9e-3),
            "ports' outer 18 mm, seat 17 mm, expected them to rise",
        ),
        (
            lambda: compression_valve(seat=Seat(clamp_radius=4.5e-3, seat_radius=8.5e-3, has_seat=False)),
            "got no seat, expected a lip",
        ),
    ],
)
def test_what_is_no_path_is_refused_by_name(make: Callable[..., Any], words: str) -> None:
    with pytest.raises(GeometryError) as error:
        make()
    assert words in str(error.value)


def test_a_lip_at_the_ports_edge_has_no_land_for_the_pressure_to_fall_over() -> None:
    valve = compression_valve(stack("20x0.2"), port_outer_radius=8.5e-3)
    assert valve.face_pressure.shares == (1.0, 1.0)
    assert compression_valve().face_pressure.shares == (1.0, 1.0, 0.0)
