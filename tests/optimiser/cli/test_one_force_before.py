"""A band has one force before, whichever command prints it: its mean over the logarithm of velocity."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.integrate import trapezoid

from tests.helpers.command_line import Typed
from tests.helpers.counts import thorough_only

pytestmark = pytest.mark.usefixtures("plans_once")

JOB = "jobs/a_more_support.toml"
BANDS = ("low-speed support", "square edges")


@pytest.fixture
def small_shelf(shop: Path) -> Path:
    """The stiff shop with a few types on the shelf, so that each command takes a second."""
    shelf = shop / "shelf.csv"
    lines = shelf.read_text(encoding="utf-8").splitlines()
    kept = [line for line in lines[1:] if line.startswith(("17,0.10,8", "17,0.15,8", "14,0.10,8"))]
    shelf.write_text("\n".join([lines[0], *kept]) + "\n", encoding="utf-8")
    return shop


def mean_by_hand(band: dict[str, Any]) -> float:
    """Mean of the force before over the logarithm of velocity by scipy's trapezoidal rule. [N]"""
    logs = np.log(band["velocities_m_s"])
    return float(np.exp(trapezoid(np.log(band["before_n"]), logs) / (logs[-1] - logs[0])))


def printed(text: str, band: str, pattern: str) -> list[str]:
    """What stands after a band's name."""
    flat = " ".join(text.split())
    found = re.search(re.escape(band) + pattern, flat)
    assert found is not None, flat
    return list(found.groups())


@thorough_only("three commands search again what their own tests search")
def test_plan_reach_resolution_and_sheet_print_one_force_before_for_each_band(
    small_shelf: Path, typed: Typed
) -> None:
    """As numbers to a thousandth of a newton, as text to the last figure printed."""
    planned, reach, resolution = (
        json.loads(typed(*words, "--json").out)
        for words in (("plan", JOB), ("reach", JOB, "--changes", "0"), ("resolution", JOB))
    )
    by_hand = {band["name"]: mean_by_hand(band) for band in planned["candidates"][0]["bands"]}
    assert set(by_hand) == set(BANDS)
    every = [band for candidate in planned["candidates"] for band in candidate["bands"]]
    for band in [*every, *reach["bands"], *resolution["bands"]]:
        assert band["average_before_n"] == pytest.approx(by_hand[band["name"]], abs=1e-3)
    sheet = re.sub(r"<[^>]*>", " ", (small_shelf / "jobs/a_more_support.html").read_text(encoding="utf-8"))
    texts = {
        command: typed(command, *words).out
        for command, *words in (("plan", JOB), ("reach", JOB, "--changes", "0"), ("resolution", JOB))
    }
    for name, force in by_hand.items():
        whole = f"{force:.0f}"
        assert printed(
            texts["plan"],
            name,
            r": \w+, \w+, [\d.]+ to [\d.]+ m/s(?:; (?:tightest at [\d.]+ m/s|judged on average))? ([\d.]+) ",
        ) == [whole]
        assert printed(
            sheet,
            name,
            r" \w+, \w+, [\d.]+ to [\d.]+ m/s(?:; (?:tightest at [\d.]+ m/s|judged on average))? ([\d.]+) ",
        ) == [whole]
        assert printed(texts["reach"], name, r" \(\w+, \w+, [\d.]+ to [\d.]+ m/s, ([\d.]+) N on average") == [
            whole
        ]
        assert printed(
            texts["resolution"], name, r": \w+, \w+, [\d.]+ to [\d.]+ m/s, ([\d.]+) N on average"
        ) == [whole]


@thorough_only("four commands search again")
@pytest.mark.usefixtures("small_shelf")
def test_a_held_band_says_where_it_is_tightest_in_every_view(typed: Typed) -> None:
    """The velocity for programs is the one that people read."""
    band = json.loads(typed("plan", JOB, "--json").out)["candidates"][0]["bands"][1]
    assert band["role"] == "hold"
    room = np.minimum(
        np.array(band["after_n"]) - band["least_n"], np.array(band["most_n"]) - band["after_n"]
    ) / (np.array(band["most_n"]) - band["least_n"])
    assert band["tightest_m_s"] == band["velocities_m_s"][int(room.argmin())]
    (speed,) = printed(typed("plan", JOB).out, "square edges", r": hold[^;]*; tightest at ([\d.]+) m/s")
    assert speed == f"{band['tightest_m_s']:.3g}"
