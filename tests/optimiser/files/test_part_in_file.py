"""Another oil, gas pressure or bleed is written into a damper file, and taken back to the letter."""

from __future__ import annotations

from pathlib import Path

import pytest

from damping_model.flow.oil import Oil, iso_vg
from damping_model.units import CENTISTOKES, kelvin
from optimiser.errors import InputError
from optimiser.files.damper_builder import read_damper
from optimiser.files.part_in_file import filed, value_of, with_part_lines, write_part
from optimiser.model.damper_description import FiledValue
from optimiser.model.other_parts import PartKind
from tests.helpers.paths import DEMO

FORK = DEMO / "dampers" / "yaffle_fork.toml"
THIN = Oil(
    name="thin can",
    viscosity_points=((kelvin(celsius=40), 11.3 * CENTISTOKES), (kelvin(celsius=100), 3.1 * CENTISTOKES)),
    density_15=862.0,
)


@pytest.mark.parametrize(
    ("kind", "name", "value"),
    [
        ("oil", "", {"name": "ISO VG 22", "iso_vg": 22}),
        ("oil", "", filed(PartKind.OIL, THIN)),
        ("gas pressure", "", 2.0),
        ("bleed", "base bleed", 0.35),
    ],
)
def test_a_part_is_written_and_taken_back_with_every_other_character_as_it_was(
    tmp_path: Path, kind: str, name: str, value: FiledValue
) -> None:
    file = tmp_path / "fork.toml"
    file.write_bytes(FORK.read_bytes())
    before = read_damper(file).filed
    write_part(file, kind, name, value)
    after = read_damper(file)
    assert after.filed == {**before, (kind, name): value}
    assert after.stacks == read_damper(FORK).stacks
    write_part(file, kind, name, before[kind, name])
    lines, own = (one.read_text(encoding="utf-8").splitlines() for one in (file, FORK))
    # An oil by grade that was one by two viscosities has its key at the end of its table.
    assert sorted(lines) == sorted(own) if "viscosity_mm2_s" in str(value) else lines == own


def test_a_part_in_si_is_the_one_that_the_file_says() -> None:
    for oil in (iso_vg(22, density_15=862.0), THIN):
        assert value_of(PartKind.OIL, filed(PartKind.OIL, oil), density_15=862.0) == oil
    assert filed(PartKind.OIL, iso_vg(22, density_15=862.0)) == {"name": "ISO VG 22", "iso_vg": 22}
    assert value_of(PartKind.GAS, filed(PartKind.GAS, 1.2e6), density_15=0) == pytest.approx(1.2e6)
    assert value_of(PartKind.BLEED, filed(PartKind.BLEED, 0.35e-3), density_15=0) == pytest.approx(0.35e-3)


def test_a_bleed_that_the_file_has_not_is_refused_by_name() -> None:
    text = FORK.read_text(encoding="utf-8")
    with pytest.raises(InputError, match=r"got 0 bleeds named 'piston bleed', expected one"):
        with_part_lines(text, "bleed", "piston bleed", 0.4, where="fork.toml")
