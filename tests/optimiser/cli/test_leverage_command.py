"""One shaft band seen from the wheel: as a table, as a picture, as keys for programs."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from optimiser.cli import cli
from optimiser.errors import InputError
from tests.helpers.paths import STIFF_SHOP

BIKE = str(STIFF_SHOP / "bikes/oxlip_trail.toml")


def run(*words: str) -> Result:
    return CliRunner().invoke(cli, ["leverage", BIKE, *words], catch_exceptions=False, env={"COLUMNS": "100"})


def test_the_table_shows_three_places_and_says_what_sag_it_took() -> None:
    shown = run("--corner", "rear").output
    assert [
        place for place in ("sag", "middle", "end") if re.search(rf"^ {place} ", shown, re.MULTILINE)
    ] == ["sag", "middle", "end"]
    assert "Sag taken as 25 % of travel, the middle of the usual range." in shown


def test_a_measured_sag_is_taken_as_it_is() -> None:
    shown = run("--corner", "rear", "--sag-mm", "42").output
    assert "42.0" in shown
    assert "Sag taken" not in shown


def test_programs_get_keys_in_si() -> None:
    places = json.loads(run("--corner", "rear", "--json", "--from", "0.1", "--to", "0.2").output)["places"]
    assert places[2]["wheel_travel_m"] == 0.14
    assert places[2]["wheel_to_m_s"] == pytest.approx(0.2 * places[2]["leverage_ratio"])


@pytest.mark.parametrize(
    ("units", "label"), [("metric", "wheel travel, mm"), ("imperial", "wheel velocity, in/s")]
)
def test_the_picture_is_written_whole_and_in_the_readers_units(
    tmp_path: Path, units: str, label: str
) -> None:
    picture = tmp_path / "leverage.svg"
    run("--corner", "rear", "--units", units, "--svg", str(picture))
    text = picture.read_text()
    assert text.rstrip().endswith("</svg>")
    assert label in text


def test_the_same_linkage_gives_the_same_picture_byte_for_byte(tmp_path: Path) -> None:
    for name in ("one.svg", "other.svg"):
        run("--corner", "rear", "--svg", str(tmp_path / name))
    assert (tmp_path / "one.svg").read_bytes() == (tmp_path / "other.svg").read_bytes()


@pytest.mark.parametrize(
    ("words", "text"),
    [
        ((), "got no --corner, expected one of front, rear. Say which wheel."),
        (("--corner", "raer"), "Did you mean 'rear'?"),
        (("--corner", "rear", "--from", "0.3", "--to", "0.1"), "expected the lower velocity first"),
        (("--corner", "rear", "--from", "nan"), "got low nan, expected a number above 0"),
    ],
)
def test_a_slip_is_refused(words: tuple[Any | str, ...], text: str) -> None:
    with pytest.raises(InputError) as caught:
        run(*words)
    assert text in str(caught.value)
