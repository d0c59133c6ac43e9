"""Among the tunes that were liked, the nearest comes first, with what differs."""

import json
from pathlib import Path

import pytest

from tests.helpers.command_line import Typed

ASKED = ("tunes", "--bike", "bikes/oxlip_trail.toml", "--corner", "rear", "--rider")


@pytest.mark.usefixtures("shop")
def test_the_tune_that_was_liked_by_this_rider_on_this_frame_is_at_no_distance(typed: Typed) -> None:
    first, *others = json.loads(typed(*ASKED, "riders/maren.toml", "--json").out)["tunes"]
    assert first["name"] == "Maren's trail bike"
    assert first["distance"] == 0
    assert first["said"] == "no difference that counts"
    assert [other["distance"] for other in others] == sorted(other["distance"] for other in others)
    assert others[0]["distance"] > 0


@pytest.mark.usefixtures("shop")
def test_a_heavier_rider_sees_the_load_by_hand(typed: Typed) -> None:
    tunes = json.loads(typed(*ASKED, "riders/tobias.toml", "--json").out)["tunes"]
    maren = next(tune for tune in tunes if tune["name"] == "Maren's trail bike")
    # 0.58 of rider, kit and 14.2 kg of bike, less 4.0 kg that the spring does not carry
    by_hand = 100 * ((0.58 * (92 + 8 + 14.2) - 4.0) / (0.58 * (63 + 5 + 14.2) - 4.0) - 1)
    assert maren["differences_percent"]["load"] == pytest.approx(by_hand, abs=0.01)
    assert maren["said"] == "heavier by 42 %"


@pytest.mark.usefixtures("shop")
def test_people_read_name_damper_and_the_riders_words(typed: Typed) -> None:
    out = typed(*ASKED, "riders/maren.toml").out
    assert (
        "1. Maren's trail bike (Tarn 55 trail shock on Oxlip 140 trail bike), tunes/maren_oxlip.toml" in out
    )
    assert 'Maren: "All else is right, leave it."' in out


def test_an_empty_record_says_how_to_begin_one(shop: Path, typed: Typed) -> None:
    (shop / "empty").mkdir()
    seen = typed(*ASKED, "riders/maren.toml", "--tunes", "empty")
    assert seen.code == 0
    assert "No tune on record in empty: write a file for each one that a rider liked." in seen.out


def test_slips_end_in_one_message(shop: Path, typed: Typed) -> None:
    seen = typed(*ASKED, "riders/maren.toml", "--tunes", "tuns")
    assert (seen.code, seen.err.startswith("tuns: no such folder;")) == (2, True)
    tune = shop / "tunes/maren_oxlip.toml"
    tune.write_text(tune.read_text(encoding="utf-8").replace('"rear"', '"raer"'), encoding="utf-8")
    seen = typed(*ASKED, "riders/maren.toml")
    assert seen.code == 2
    assert "tunes/maren_oxlip.toml: corner: got corner 'raer'" in seen.err
    assert "Did you mean 'rear'?" in seen.err
