"""The ride plan on paper: what to set, what the model expects, and room to write."""

import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from optimiser.cli import cli
from optimiser.errors import InputError
from tests.helpers.paths import STIFF_SHOP

DAMPERS = STIFF_SHOP / "dampers"


def run(*words: object) -> Result:
    return CliRunner().invoke(cli, ["ride-plan", *map(str, words)], catch_exceptions=False)


def test_closing_a_clicker_is_expected_to_firm_up_its_own_stroke_and_opening_it_to_soften_it() -> None:
    """Through the physics of the stiff shop's trail shock."""
    text = run(DAMPERS / "tarn_shock.toml").output
    expected = dict(
        re.findall(
            r"compression: (\d+) clicks out.*\n   model expects.*compression low ([+-]\d+) %",
            text.replace("−", "-"),
        )
    )
    assert int(expected["0"]) > 0 > int(expected["12"])
    found = re.search(r"rebound: 0 clicks out.*\n   model expects, against the start: (.*)", text)
    assert found is not None
    rebound = found[1]
    assert rebound.startswith("rebound low +")
    assert "compression" not in rebound


def test_it_can_be_written_for_the_printer(tmp_path: Path) -> None:
    shown = run(DAMPERS / "tarn_shock.toml", "--out", tmp_path / "ride.txt").output
    assert shown == f"Wrote {tmp_path / 'ride.txt'}.\n"
    assert (tmp_path / "ride.txt").read_text() == run(DAMPERS / "tarn_shock.toml").output.removesuffix("\n")


def test_a_damper_without_clickers_has_nothing_to_ride(tmp_path: Path) -> None:
    text = (DAMPERS / "dunnock_shock.toml").read_text()
    start = text.index("[[valve.clicker]]")
    (tmp_path / "bare.toml").write_text(text[:start] + text[text.index("[[valve.bleed]]", start) :])
    with pytest.raises(InputError, match="got no clicker, expected at least one"):
        run(tmp_path / "bare.toml")
