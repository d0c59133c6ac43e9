"""What a damper is closed by is read, in SI, and nothing in it moves a force."""

from __future__ import annotations

from pathlib import Path

import pytest

from damping_model.units import BAR, MILLIMETRE
from optimiser.errors import InputError
from optimiser.files.damper_builder import read_damper
from optimiser.model.assembly import NOTHING_WRITTEN, Assembly
from tests.helpers.paths import STIFF_SHOP

DAMPER = (STIFF_SHOP / "dampers" / "tarn_shock.toml").read_text(encoding="utf-8")


def with_assembly(folder: Path, lines: str) -> Path:
    (folder / "given.toml").write_text(f"{DAMPER}\n[assembly]\n{lines}\n", encoding="utf-8")
    return folder / "given.toml"


def test_figures_of_the_manual_are_read_in_si_and_change_nothing_else(tmp_path: Path) -> None:
    lines = 'serial = "A-7"\nnut_torque_n_m = 6.5\noil_level_mm = 12.0\ngas_charge_bar = 17.0'
    read, plain = (
        read_damper(with_assembly(tmp_path, lines)),
        read_damper(STIFF_SHOP / "dampers/tarn_shock.toml"),
    )
    expected = Assembly(serial="A-7", nut_torque=6.5, oil_level=12.0 * MILLIMETRE, gas_charge=17.0 * BAR)
    assert (read.assembly, plain.assembly) == (expected, NOTHING_WRITTEN)
    assert read.damper == plain.damper


def test_a_torque_that_no_nut_has_is_refused_by_field(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"assembly.nut_torque_n_m: got 650.*0.5 to 150 N m"):
        read_damper(with_assembly(tmp_path, "nut_torque_n_m = 650.0"))
