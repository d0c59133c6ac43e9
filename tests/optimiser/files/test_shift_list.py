"""A list of dampers and shifts for a season: read, and refused by line and field."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimiser.errors import InputError
from optimiser.files.shift_list import USUAL_TOLERANCE, read_shifts
from tests.helpers.paths import DEMO

HEAD = "damper,stack,stroke,from_m_s,to_m_s,shift_percent,times,name\n"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    (tmp_path / "dampers").mkdir()
    for name in ("tarn_shock.toml", "yaffle_fork.toml"):
        (tmp_path / "dampers" / name).write_bytes((DEMO / "dampers" / name).read_bytes())
    (tmp_path / "shelf.csv").write_bytes((DEMO / "shelf.csv").read_bytes())
    return tmp_path / "season.csv"


def test_the_demo_list_is_read_with_what_each_line_asks() -> None:
    first, *_, last = read_shifts(DEMO / "season.csv")
    assert (first.damper.name, first.stack) == ("Tarn 55 trail shock", "compression stack")
    assert (first.band.low, first.band.high, first.band.stroke) == (0.06, 0.12, "compression")
    assert first.times == 6
    assert last.elsewhere is None
    assert last.band.shift == pytest.approx(-0.12)


def test_what_a_line_leaves_out_is_the_usual(place: Path) -> None:
    place.write_text(HEAD + "dampers/tarn_shock.toml,rebound stack,rebound,0.2,0.4,8,,\n", encoding="utf-8")
    (one,) = read_shifts(place)
    assert (one.band.tolerance, one.times, one.elsewhere) == (USUAL_TOLERANCE, None, None)
    assert one.name == "Tarn 55 trail shock, 8 % (1)"


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("dampers/none.toml,x,compression,0.1,0.2,5,,", r"season\.csv:2: .*none\.toml: no such file"),
        ("dampers/tarn_shock.toml,rebond stack,rebound,0.1,0.2,5,,", "Did you mean 'rebound stack'"),
        ("dampers/tarn_shock.toml,,rebound,0.1,0.2,5,,", "Say which stack may change"),
        ("dampers/tarn_shock.toml,rebound stack,inwards,0.1,0.2,5,,", "expected compression or rebound"),
        (
            "dampers/tarn_shock.toml,rebound stack,rebound,0.1,fast,5,,",
            "to_m_s: got 'fast', expected a number",
        ),
        ("dampers/tarn_shock.toml,rebound stack,rebound,0.1,,5,,", "to_m_s: got nothing"),
        ("dampers/tarn_shock.toml,rebound stack,rebound,0.1,0.2,0,,", "expected a number other than 0"),
        ("dampers/tarn_shock.toml,rebound stack,rebound,0.1,0.2,5,0,", "times: got '0'"),
    ],
)
def test_a_line_that_cannot_be_is_refused_with_file_line_and_way_out(
    place: Path, line: str, said: str
) -> None:
    place.write_text(f"{HEAD}{line}\n", encoding="utf-8")
    with pytest.raises(InputError, match=said) as refused:
        read_shifts(place)
    assert "season.csv:2" in str(refused.value)


def test_two_shifts_of_one_name_and_an_empty_list_are_refused(place: Path) -> None:
    line = "dampers/tarn_shock.toml,rebound stack,rebound,0.2,0.4,8,,club\n"
    place.write_text(HEAD + 2 * line, encoding="utf-8")
    with pytest.raises(InputError, match="'club' twice"):
        read_shifts(place)
    place.write_text(HEAD, encoding="utf-8")
    with pytest.raises(InputError, match="no line below the header"):
        read_shifts(place)
