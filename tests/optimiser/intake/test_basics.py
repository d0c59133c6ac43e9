"""Nobody opens a damper while the sag is wrong, unless with a reason that is printed."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from optimiser.errors import InputError
from optimiser.intake.basics import Ranges, check_basics
from optimiser.intake.machine import AirPressure, Machine
from optimiser.intake.measured import Basics, CornerBasics

GOOD = Basics(
    corners=(
        CornerBasics("front", sag_share=0.2, tyre_pressure=1.6e5, free_play=False, leaks=False),
        CornerBasics("rear", sag_share=0.25, tyre_pressure=1.8e5, free_play=False, leaks=False),
    ),
    hours_since_service=20,
)


@pytest.fixture
def gate(bike: Machine, ranges: Ranges) -> Callable[..., Any]:
    return lambda basics, machine=bike: check_basics(machine=machine, basics=basics, ranges=ranges)


def rear(**values: Any) -> Basics:
    return Basics(corners=(CornerBasics("rear", **values),))


def test_a_machine_that_is_set_right_passes_with_nothing_to_say(gate: Callable[..., Any]) -> None:
    result = gate(GOOD)
    assert result.passed
    assert result.findings == ()
    assert result.unchecked == ()


def test_what_was_not_measured_stops_nothing_but_is_named(gate: Callable[..., Any]) -> None:
    result = gate(Basics())
    assert result.passed
    assert "sag, rear" in result.unchecked
    assert "hours since service" in result.unchecked


def test_too_much_sag_stops_the_plan_and_says_what_to_set(gate: Callable[..., Any]) -> None:
    result = gate(rear(sag=0.060))
    (finding,) = result.findings
    assert not result.passed
    assert finding.what == "sag, rear"
    assert finding.got == "60 mm, 40 % of travel"
    assert finding.expected == "20 % to 30 % of travel"
    assert "too deep" in finding.why


@pytest.mark.parametrize(
    "measured", [{"sag": 0.060}, {"sag_share": 0.4}, {"sag_at_shaft": 0.024}], ids=["wheel", "share", "shaft"]
)
def test_sag_means_the_same_however_it_was_measured(
    gate: Callable[..., Any], measured: dict[str, float]
) -> None:
    assert gate(rear(**measured)).findings[0].got == "60 mm, 40 % of travel"


@pytest.mark.parametrize("share", [0.2, 0.25, 0.3])
def test_sag_at_either_end_of_its_range_passes(gate: Callable[..., Any], share: float) -> None:
    assert gate(rear(sag_share=share)).passed


@pytest.mark.parametrize("share", [0.199, 0.301])
def test_sag_just_outside_its_range_stops(gate: Callable[..., Any], share: float) -> None:
    assert not gate(rear(sag_share=share)).passed


def test_a_frame_may_set_its_own_range(gate: Callable[..., Any], bike: Machine) -> None:
    corners = tuple(replace(corner, sag=(0.35, 0.45)) for corner in bike.corners)
    assert gate(rear(sag_share=0.4), replace(bike, corners=corners)).passed


def test_a_reason_to_go_on_is_kept_and_the_findings_with_it(gate: Callable[..., Any]) -> None:
    result = gate(replace(rear(sag=0.060), override_reason="race in an hour"))
    assert result.passed
    assert result.override_reason == "race in an hour"
    assert len(result.findings) == 1


def test_a_reason_is_not_kept_where_nothing_was_overridden(gate: Callable[..., Any]) -> None:
    assert gate(replace(GOOD, override_reason="race in an hour")).override_reason is None


@pytest.mark.parametrize(
    ("values", "what", "do_this"),
    [
        ({"tyre_pressure": 1.0e5}, "tyre pressure, front", "Set the tyre to 1.65 bar"),
        ({"free_play": True}, "free play, front", "bearings, bushings"),
        ({"leaks": True}, "leak, front", "let the gas off as the maker's manual says"),
    ],
)
def test_tyres_play_and_leaks_come_before_shims(
    gate: Callable[..., Any], values: dict[str, Any], what: str, do_this: str
) -> None:
    result = gate(Basics(corners=(CornerBasics("front", **values),)))
    assert not result.passed
    assert result.findings[0].what == what
    assert do_this in result.findings[0].do_this


def test_a_damper_past_its_service_is_serviced_first(gate: Callable[..., Any]) -> None:
    assert gate(Basics(hours_since_service=100)).passed
    result = gate(Basics(hours_since_service=101))
    assert not result.passed
    assert result.findings[0].expected == "at most 100 h"


def test_a_frame_with_little_anti_squat_is_never_passed_over_in_silence_and_stops_nothing(
    gate: Callable[..., Any], bike: Machine
) -> None:
    corners = tuple(
        replace(corner, anti_squat=0.6 if corner.name == "rear" else None) for corner in bike.corners
    )
    result = gate(GOOD, replace(bike, corners=corners))
    assert result.passed
    assert result.findings[0].what == "anti-squat, rear"
    assert "first a matter of this frame" in result.findings[0].do_this


def test_a_corner_that_the_machine_has_not_is_refused_with_the_nearest(gate: Callable[..., Any]) -> None:
    with pytest.raises(
        InputError, match=r"got corner 'raer', expected one of front, rear of bike. Did you mean 'rear'"
    ):
        gate(Basics(corners=(CornerBasics("raer"),)))


def test_a_kind_without_ranges_is_refused_with_the_way_out(gate: Callable[..., Any], bike: Machine) -> None:
    with pytest.raises(
        InputError, match=r"got a machine of kind 'unicycle'.*Write the one that it is ridden most like"
    ):
        gate(GOOD, replace(bike, kind="unicycle"))


@pytest.mark.parametrize(
    ("values", "text"),
    [
        ({"sag": 0.2}, "got a sag of 200 mm, expected less than the travel of 150 mm"),
        ({"sag_at_shaft": 0.07}, "got a sag of 70 mm at the shaft, expected less than its travel of 60 mm"),
    ],
)
def test_more_sag_than_travel_is_refused(
    gate: Callable[..., Any], values: dict[str, float], text: str
) -> None:
    with pytest.raises(InputError, match=text):
        gate(rear(**values))


def test_the_spring_counts_as_it_stood_when_the_sag_was_measured(gate: Callable[..., Any]) -> None:
    """80 N/mm, 2 mm preload in the bike file; with 5 mm the same sag stands for 80 x (24 + 5) N."""
    (finding,) = gate(rear(sag=0.060, preload=0.005)).findings
    assert "Fit a spring of 116 N/mm instead of 80 N/mm, at 5.0 mm" in finding.do_this
    (finding,) = gate(rear(sag=0.060, stiffness=60_000.0)).findings
    assert "instead of 2.0 mm" in finding.do_this


def test_a_pressure_for_a_coil_and_a_preload_for_air_are_refused(
    gate: Callable[..., Any], bike: Machine
) -> None:
    with pytest.raises(InputError, match="rear: got a spring pressure, expected a preload or rate"):
        gate(rear(sag=0.060, pressure=1e6))
    airy = replace(bike, corners=tuple(replace(corner, spring=AirPressure(6e5)) for corner in bike.corners))
    with pytest.raises(InputError, match="rear: got a preload or rate, expected a spring pressure"):
        gate(rear(sag=0.060, preload=0.005), airy)
    (finding,) = gate(rear(sag=0.060, pressure=8e5), airy).findings
    assert "bar instead of 8.0 bar, never past the maker's limit" in finding.do_this


def test_a_preload_without_any_rate_is_refused(gate: Callable[..., Any], bike: Machine) -> None:
    bare = replace(bike, corners=tuple(replace(corner, spring=None) for corner in bike.corners))
    with pytest.raises(InputError, match="got a preload without a spring rate"):
        gate(rear(sag=0.060, preload=0.005), bare)
