"""Machines and riders as files: every way to give a linkage, and every slip refused by line and field."""

import math
from pathlib import Path

import pytest

import inventory_demo
from damping_model.vehicle.spring import ATMOSPHERE, AirSpring, CoilSpring
from optimiser.errors import InputError
from optimiser.files.base import read_toml
from optimiser.files.basics_ranges_file import read_ranges
from optimiser.files.bike_file import BikeFile
from optimiser.files.rider_file import RiderFile
from optimiser.intake.machine import AirPressure, Corner

DEMO = Path(inventory_demo.__file__).parent
BIKES = sorted((DEMO / "bikes").glob("*.toml"))
RIDERS = sorted((DEMO / "riders").glob("*.toml"))

BIKE = """\
name = "Test bike"
mass_kg = 15.0

[[corner]]
name = "rear"
end = "rear"
travel_mm = 140
load_share = 0.6
LEVERAGE
"""


LEVERAGE = "leverage = { wheel_over_shaft = [[0, 2.8], [140, 2.4]] }"


def write(
    tmp_path: Path,
    leverage: str = LEVERAGE,
    change: tuple[str, str] = ("", ""),
) -> Path:
    path = tmp_path / "bike.toml"
    path.write_text(BIKE.replace("LEVERAGE", leverage).replace(*change))
    return path


def corner(tmp_path: Path, leverage: str, change: tuple[str, str] = ("", "")) -> Corner:
    return read_toml(write(tmp_path, leverage, change), BikeFile, what="bike").machine().corners[0]


def refusal(tmp_path: Path, leverage: str = LEVERAGE, change: tuple[str, str] = ("", "")) -> str:
    with pytest.raises(InputError) as caught:
        read_toml(write(tmp_path, leverage, change), BikeFile, what="bike")
    return str(caught.value).removeprefix(str(tmp_path) + "/")


@pytest.mark.parametrize(
    "leverage",
    [
        "leverage = { wheel_over_shaft = [[0, 2.5], [140, 2.5]] }",
        "leverage = { shaft_over_wheel = [[0, 0.4], [140, 0.4]] }",
        "leverage = { shaft_travel_mm = [[0, 0], [140, 56]] }",
    ],
)
def test_a_linkage_is_the_same_in_either_convention_or_as_travels(tmp_path: Path, leverage: str) -> None:
    curve = corner(tmp_path, leverage).leverage
    assert curve.leverage_ratio(wheel_travel=0.05) == pytest.approx(2.5)
    assert curve.shaft_travel_end == pytest.approx(0.056)


def test_a_fork_is_one_to_one_and_its_head_angle_counts_from_the_ground(tmp_path: Path) -> None:
    assert corner(tmp_path, "leverage = { one_to_one = true }").leverage.shaft_travel_end == pytest.approx(
        0.14
    )
    raked = corner(tmp_path, "leverage = { one_to_one = true, head_angle_deg = 64 }").leverage
    assert raked.shaft_travel_end == pytest.approx(0.14 / math.sin(math.radians(64)))


def test_springs_are_coils_or_air_with_or_without_known_chambers(tmp_path: Path) -> None:
    one = "leverage = { one_to_one = true }\n"
    assert corner(tmp_path, one + "spring = { rate_n_mm = 9.5, preload_mm = 5 }").spring == CoilSpring(
        stiffness=9500.0, preload=0.005
    )
    assert corner(tmp_path, one + "spring = { pressure_bar = 6 }").spring == AirPressure(pressure=6e5)
    air = corner(tmp_path, one + "spring = { pressure_bar = 6, area_mm2 = 700, volume_cm3 = 200 }").spring
    assert isinstance(air, AirSpring)
    assert air.force(shaft_travel=0.0) == pytest.approx(6e5 * 700e-6)
    assert air.force(shaft_travel=0.1) > ATMOSPHERE * 700e-6


@pytest.mark.parametrize(
    ("args", "text"),
    [
        (
            ("leverage = { shaft_travel_mm = [[0, 0], [70, 30], [140, 20]] }",),
            (
                "bike.toml:4: corner 'rear': expected: a linkage that can be built for corner 'rear': the leverage curve "
                "runs backwards: shaft travel goes from 30 to 20 mm"
            ),
        ),
        (
            ("leverage = { wheel_over_shaft = [[0, 2.8], [120, 2.4]] }",),
            "got leverage points up to 120 mm of wheel travel, expected them up to travel_mm = 140",
        ),
        (
            ("leverage = { wheel_over_shaft = [[0, 2.8], [140, 280]] }",),
            "got wheel over shaft 280 at 140 mm of wheel travel",
        ),
        (
            ("leverage = { }",),
            "exactly one of wheel_over_shaft, shaft_over_wheel, shaft_travel_mm, one_to_one, got none",
        ),
        (
            ("leverage = { one_to_one = true, shaft_over_wheel = [[0, 1], [140, 1]] }",),
            "got shaft_over_wheel and one_to_one",
        ),
        (
            ("leverage = { wheel_over_shaft = [[0, 2.8], [140, 2.4]], head_angle_deg = 64 }",),
            "head_angle_deg only beside one_to_one",
        ),
        (("leverage = { wheel_over_shaft = [[0, 2.8], [140, nan]] }",), "finite number"),
        (("leverage = { wheel_over_shaft = [[0, 2.8, 1], [140, 2.4]] }",), "at most 2 items"),
    ],
)
def test_a_linkage_that_makes_no_sense_is_refused(tmp_path: Path, args: tuple[str], text: str) -> None:
    assert text in refusal(tmp_path, *args)


@pytest.mark.parametrize(
    ("change", "text"),
    [
        (
            ("travel_mm", "travl_mm"),
            "bike.toml:7: corner 'rear'.travl_mm: unknown key. Did you mean 'travel_mm'?",
        ),
        (
            ("load_share = 0.6", "load_share = 60"),
            "load_share: got 60; expected: less than or equal to 1; if it is percent, write 0.6.",
        ),
        (('end = "rear"', 'end = "shock"'), "corner 'rear'.end: got 'shock'; expected: 'front' or 'rear'."),
        (
            ("load_share = 0.6", "load_share = 1.6"),
            "bike.toml:8: corner 'rear'.load_share: got 1.6; expected: less than",
        ),
        (
            ("mass_kg = 15.0", "mass_kg = -1"),
            "bike.toml:2: mass_kg: got -1; expected: greater than or equal to 1",
        ),
        (("mass_kg = 15.0", "mass_kg = nan"), "bike.toml:2: mass_kg: got nan; expected: a finite number"),
        (("load_share = 0.6", "load_share = 0.6\nsag_percent = [30, 20]"), "sag_percent as [least, most]"),
        (
            ("load_share = 0.6", "load_share = 0.6\nspring = { rate_n_mm = 9, pressure_bar = 5 }"),
            "either rate_n_mm (coil) or pressure_bar (air), and not both",
        ),
        (
            ("load_share = 0.6", "load_share = 0.6\nspring = { pressure_bar = 5, area_mm2 = 700 }"),
            "area_mm2 and volume_cm3 together, or neither",
        ),
    ],
)
def test_a_slip_in_a_bike_file_is_refused_by_line_and_field(
    tmp_path: Path, change: tuple[str, str], text: str
) -> None:
    assert text in refusal(tmp_path, change=change)


def test_two_corners_of_one_name_and_shares_past_the_whole_are_refused(tmp_path: Path) -> None:
    path = write(tmp_path)
    whole = path.read_text()
    section = whole[whole.index("[[corner]]") :]
    path.write_text(whole + section)
    with pytest.raises(InputError, match="every corner to have a name of its own, got 'rear' twice"):
        read_toml(path, BikeFile, what="bike")
    path.write_text(whole + section.replace('name = "rear"', 'name = "front"'))
    with pytest.raises(InputError, match=r"load shares that add up to at most 1, got 1\.2"):
        read_toml(path, BikeFile, what="bike")


@pytest.mark.parametrize("path", BIKES, ids=lambda path: path.stem)
def test_every_bike_of_the_demo_shop_is_read_and_has_ranges_for_its_kind(path: Path) -> None:
    machine = read_toml(path, BikeFile, what="bike").machine()
    kind = read_ranges().of(machine.kind)
    assert {corner.end for corner in machine.corners} <= set(kind.sag)
    assert sum(corner.load_share for corner in machine.corners) == pytest.approx(1)


@pytest.mark.parametrize("path", RIDERS, ids=lambda path: path.stem)
def test_every_rider_of_the_demo_shop_is_read(path: Path) -> None:
    file = read_toml(path, RiderFile, what="rider")
    assert file.rider().mass == file.mass_kg + file.kit_mass_kg
    assert file.words


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('name = "A"\nmass_kg = 800', "rider.toml:2: mass_kg: got 800; expected: less than or equal to 250"),
        ("mass_kg = 70", "rider.toml:1: name: missing"),
        ('name = "A"\nweight_kg = 70', "rider.toml:2: weight_kg: unknown key. Did you mean 'mass_kg'?"),
        ('name = "A"\nmass = 70', "rider.toml:2: mass: unknown key. Did you mean 'mass_kg'?"),
    ],
)
def test_a_slip_in_a_rider_file_is_refused(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "rider.toml"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        read_toml(path, RiderFile, what="rider")
    assert message in str(caught.value)
