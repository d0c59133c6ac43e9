"""A damper file that no damper can be is refused by field with the way out; what is unusual is said."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from optimiser.errors import InputError
from optimiser.files.bounds import BOUNDS
from optimiser.files.damper_builder import read_damper
from optimiser.files.job_reader import read_job
from optimiser.files.schemas import schema_of
from optimiser.jobs.noticed import noticed_in
from tests.helpers.paths import ROOT, STIFF_SHOP

SHOP = STIFF_SHOP
DAMPER = (SHOP / "dampers" / "tarn_shock.toml").read_text(encoding="utf-8")
CHECK = "port_area_mm2 = 30.0\nseat_diameter_mm = 14.0"
CHAMBERS = DAMPER[DAMPER.index("[[chamber]]") : DAMPER.index("[[valve]]")]
SWAPPED = CHAMBERS.replace("compression", "x").replace("rebound", "compression").replace("x", "rebound")
AREAS = re.search(r"area_mm2 = (\[0\.12.*\])", DAMPER)[1]  # type: ignore[index]

REFUSED = {
    "viscosities at 40 and 40.0001 °C": ('"100" = 3.6', '"40.0001" = 3.6', "two temperatures at least 20 °C apart, got 40 and 40.0001; the oil's sheet has 40 and 100"),
    "the same temperature twice": ('"100" = 3.6', '"40.0" = 3.6', "viscosities at exactly two temperatures"),
    "a viscosity that hardly falls": ('"100" = 3.6', '"100" = 14.5', "a viscosity from 1.89 to 9.17 mm²/s at 100 °C, as oils thin, got 14.5"),
    "a viscosity that falls off": ('"100" = 3.6', '"100" = 0.5', "a viscosity from 1.89 to 9.17 mm²/s at 100 °C, as oils thin, got 0.5"),
    "a temperature of no oil": ('"100" = 3.6', '"1000" = 3.6', "temperatures from -40 to 200 °C, got 1000"),
    "true for a number": ("stroke_mm = 55.0", "stroke_mm = true", "stroke_mm: got True; expected: a number; true and false are none"),
    "true in a list of numbers": ("[0.12, 0.16", "[true, 1.16", "expected: a number; true and false are none"),
    "a shaft of a hundredth of a millimetre": ("shaft_diameter_mm = 10.0", "shaft_diameter_mm = 0.01", "shaft_diameter_mm: got 0.01; expected: 3 to 60 mm: a thinner shaft bends, a thicker one leaves no ring of oil; did you mean 10?"),
    "ports wider than their ring": ("port_area_mm2 = 46.0", "port_area_mm2 = 460.0", "port_area_mm2 of at most 98.2, the whole ring from port_inner_diameter_mm to port_outer_diameter_mm, got 460"),
    "a seat inside its ports": (CHECK, "port_area_mm2 = 30.0\nseat_diameter_mm = 5.0", "port_area_mm2 of at most 19.6, all that lies inside the lip of seat_diameter_mm 5, got 30"),
    "a bore beyond the piston": ("bore_diameter_mm = 27.0", "bore_diameter_mm = 40.0", "bore_diameter_mm of 'compression stack' of at most 27.5, as the piston of 27 mm leaves room, got 40"),
    "a seat beyond the piston": (CHECK, "port_area_mm2 = 30.0\nseat_diameter_mm = 100.0", "seat_diameter_mm of 'base refill check' of at most 54, as the piston of 27 mm leaves room, got 100"),
    "a hole beyond the piston": ("diameter_mm = 1.3", "diameter_mm = 19.0\ncount = 40", "diameter_mm of all holes together of 'base hole' of at most 54"),
    "a leak wider than its diameter": ("diameter_mm = 27.0\nclearance_mm = 0.012", "diameter_mm = 3.0\nclearance_mm = 0.5", "clearance_mm of at most 0.15, a twentieth of diameter_mm, got 0.5"),
    "a leak wider than the piston": ("diameter_mm = 27.0\nclearance_mm = 0.012", "diameter_mm = 140.0\nclearance_mm = 0.012", "diameter_mm of 'piston ring' of at most 27.5"),
    "strokes swapped": (CHAMBERS, SWAPPED, "chambers that together lose room in compression"),
    "gas-charged with nothing": ("gas_pressure_bar = 25.0", "gas_pressure_bar = 0.0", "gas_pressure_bar above 0 where gas_charged = true, got 0; without pressure it is false"),
    "uncharged with 25 bar": ("gas_charged = true", "gas_charged = false", "gas_charged = true where gas_pressure_bar is more than 5, got false and 25"),
    "a clicker of equal areas": (AREAS, f"[{', '.join(['0.3'] * 13)}]", "area_mm2 that grows with clicks out, got 0.3 at every click; a hole that nothing moves is a [[valve.bleed]]"),
    "an area of 1e-300": ("[0.12,", "[1e-300,", "area_mm2 of 0 or at least 0.0001, got 1e-300 at 0; write 0 where it is shut"),
    "a share of 1e-300": ("open_share = 0.8", "open_share = 1e-300", "open_share: got 1e-300; expected: 0.05 to 1"),
    "a port of half a metre": ("port_length_mm = 7.0", "port_length_mm = 500.0", "port_length_mm: got 500.0; expected: 0.1 to 100 mm: a port is as long as its piston is high; did you mean 50?"),
    "a stroke of nothing": ("stroke_mm = 55.0", "stroke_mm = 1e-9", "stroke_mm: got 1e-09; expected: 5 to 1000 mm: a damper of no stroke does not move"),
}  # fmt: skip


def read(tmp_path: Path, old: str, new: str) -> Path:
    assert old in DAMPER
    (tmp_path / "given.toml").write_text(DAMPER.replace(old, new, 1), encoding="utf-8")
    return tmp_path / "given.toml"


@pytest.mark.parametrize("case", REFUSED)
def test_what_no_damper_can_be_is_refused_with_field_and_way_out(case: str, tmp_path: Path) -> None:
    old, new, says = REFUSED[case]
    with pytest.raises(InputError) as refused:
        read_damper(read(tmp_path, old, new))
    assert says in str(refused.value)
    assert re.search(r"given\.toml:\d+: ", str(refused.value))


ODD = {
    "an oil that hardly thins": ('"100" = 3.6', '"100" = 7.5', "viscosity_mm2_s of 'light damper oil'"),
    "a click that changes nothing": ("[0.12, 0.16", "[0.12, 0.12", "area_mm2 of 'low-speed compression'"),
    "a valve wider than the piston": (CHECK, "port_area_mm2 = 30.0\nseat_diameter_mm = 35.0", "seat_diameter_mm of 'base refill check'"),
}  # fmt: skip


@pytest.mark.parametrize("case", ODD)
def test_what_a_real_damper_might_have_is_read_and_said(case: str, tmp_path: Path) -> None:
    old, new, what = ODD[case]
    [oddity] = read_damper(read(tmp_path, old, new)).oddities
    assert oddity.what == what


def test_nothing_is_unusual_in_the_dampers_of_our_shops() -> None:
    for path in sorted(ROOT.glob("**/dampers/*.toml")):
        assert read_damper(path).oddities == (), path


def test_what_is_unusual_is_a_word_of_advice_in_every_answer_to_the_job(tmp_path: Path) -> None:
    job = read_job(SHOP / "jobs" / "a_more_support.toml")
    assert noticed_in(job) == ()
    old, new, what = ODD["a click that changes nothing"]
    odd = read_damper(read(tmp_path, old, new))
    object.__setattr__(job, "damper", odd)
    [finding] = noticed_in(job)
    assert finding.what == what
    assert not finding.stops


def test_the_page_of_files_has_every_bound_of_the_table() -> None:
    page = (ROOT / "docs" / "reference" / "files.md").read_text(encoding="utf-8")
    for bound in BOUNDS:
        assert f"| `{bound.field}` | {bound.span} | {bound.why} |" in page


def test_the_schema_has_the_bounds_too() -> None:
    stroke = schema_of("damper")["properties"]["stroke_mm"]
    assert (stroke["minimum"], stroke["maximum"]) == (5, 1000)
