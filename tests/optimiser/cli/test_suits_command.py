"""A delivered damper against a known-good one: left alone, clicked, given shims, or called wrong."""

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.helpers.command_line import Typed
from tests.helpers.counts import thorough_only

FRAME = ("--bike", "bikes/oxlip_trail.toml", "--rider", "riders/tobias.toml")
LIKE = ("--like", "dampers/tarn_shock.toml")


def edited(shop: Path, old: str, new: str, *, source: str = "tarn_shock") -> str:
    text = (shop / f"dampers/{source}.toml").read_text(encoding="utf-8")
    assert old in text
    (shop / "dampers/delivered.toml").write_text(text.replace(old, new, 1), encoding="utf-8")
    return "dampers/delivered.toml"


def asked(typed: Callable[..., Any], damper: str, *words: str) -> tuple[int, dict[str, Any]]:
    seen = typed("suits", damper, *FRAME, *words, "--json")
    return seen.code, json.loads(seen.out)


@pytest.mark.usefixtures("shop")
def test_a_damper_suits_the_frame_on_which_it_is_the_known_good_one(typed: Typed) -> None:
    code, suits = asked(typed, "dampers/tarn_shock.toml", *LIKE, "--tolerance", "0.5")
    assert (code, suits["verdict"]) == (0, "fits as it is")
    assert all(band["off_percent"] == 0 for band in suits["bands"])


def test_clicks_that_were_turned_are_turned_back(shop: Path, typed: Typed) -> None:
    damper = edited(shop, "clicks_out = 6", "clicks_out = 2")
    code, suits = asked(typed, damper, *LIKE, "--tolerance", "1")
    assert (code, suits["verdict"]) == (0, "fits by clicks")
    assert suits["clicks_out"] == {"low-speed compression": 6}
    assert "too firm; low-speed compression 6 clicks out brings it in." in suits["said"]


@thorough_only("searches long")
def test_a_shim_that_was_swapped_is_found_and_proven_the_least(shop: Path, typed: Typed) -> None:
    damper = edited(shop, '"3 of 17x0.10"', '"2 of 17x0.10", "17x0.20"')
    code, suits = asked(typed, damper, *LIKE, "--tolerance", "2", "--changes", "1", "--time-limit", "8")
    assert (code, suits["verdict"], suits["number_of_changes"]) == (0, "needs shims", 1)
    assert suits["proven"]
    assert "one shim changed does" in suits["said"]


@pytest.mark.usefixtures("shop")
def test_a_damper_that_no_click_and_no_shim_brings_in_is_wrong_and_that_is_proven(typed: Typed) -> None:
    code, suits = asked(typed, "dampers/dunnock_shock.toml", *LIKE, "--changes", "1")
    assert (code, suits["verdict"], suits["proven"]) == (3, "wrong for this frame", True)


@pytest.mark.usefixtures("shop")
def test_without_a_known_good_damper_the_usual_damping_ratio_is_asked_for_and_called_common_practice(
    typed: Typed,
) -> None:
    code, suits = asked(typed, "dampers/dunnock_shock.toml")
    assert code == 0
    assert "common practice, no source" in suits["reasons"][0]
    compression, rebound = suits["bands"]
    # ends of each range stand as the ratios do, whatever mass and spring are
    assert compression["most_n"] / compression["least_n"] == pytest.approx(0.50 / 0.15, rel=1e-4)
    assert rebound["most_n"] / compression["most_n"] == pytest.approx(1.00 / 0.50, rel=1e-4)


def test_a_coil_makes_the_asked_for_force_what_is_worked_by_hand(shop: Path, typed: Typed) -> None:
    """F = 2 zeta sqrt(k m) v at the wheel, for a constant 2.5:1 and a coil of 100 N/mm without preload."""
    bike = shop / "bikes/oxlip_trail.toml"
    text = bike.read_text(encoding="utf-8")
    spring = "spring = { pressure_bar = 15.2, area_mm2 = 1260, volume_cm3 = 104, negative_volume_cm3 = 26 }"
    curve = "wheel_over_shaft = [[0, 2.88], [35, 2.72], [70, 2.545], [105, 2.395], [140, 2.275]]"
    assert spring in text
    assert curve in text
    text = text.replace(spring, "spring = { rate_n_mm = 100 }")
    bike.write_text(text.replace(curve, "wheel_over_shaft = [[0, 2.5], [140, 2.5]]"), encoding="utf-8")
    _, suits = asked(typed, "dampers/dunnock_shock.toml", "--corner", "rear")
    mass, rate = 0.58 * (92 + 8 + 14.2) - 4.0, 100e3 / 2.5**2
    velocity = 2.5 * math.sqrt(0.04 * 0.15)
    assert suits["bands"][0]["least_n"] == pytest.approx(
        2 * 0.15 * math.sqrt(rate * mass) * velocity, rel=1e-4
    )


@pytest.mark.usefixtures("shop")
def test_a_liked_tune_serves_as_the_known_good_damper_and_people_read_the_verdict_first(typed: Typed) -> None:
    seen = typed("suits", "dampers/tarn_shock.toml", *FRAME, "--like", "tunes/maren_oxlip.toml")
    assert seen.code == 0
    assert seen.out.startswith("Tarn 55 trail shock in Oxlip 140 trail bike, rear: fits as it is.")
    assert "the wheel forces of Maren's trail bike, Tarn 55 trail shock, within 10 %." in seen.out


@pytest.mark.usefixtures("shop")
def test_slips_end_in_one_message(typed: Typed) -> None:
    for words, text in (
        (("--like", "dampers/tarn.toml"), "dampers/tarn.toml: no such file; expected a damper or tune file."),
        (("--corner", "raer"), "Did you mean 'rear'?"),
    ):
        seen = typed("suits", "dampers/tarn_shock.toml", *FRAME, *words)
        assert seen.code == 2
        assert text in seen.err
