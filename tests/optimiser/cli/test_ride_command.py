"""``shimwright ride``: text, keys and picture say the same; what is wrong is refused in a line."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimiser.cli import cli
from optimiser.documents.ride import RideDocument, RideEventDocument, RideTold
from optimiser.errors import InputError
from tests.helpers.counts import thorough_only
from tests.helpers.paths import ROOT

JOB = ROOT / "inventory_demo" / "jobs" / "h_motocross.toml"
PAGE = (ROOT / "docs" / "reference" / "json-output.md").read_text(encoding="utf-8")


def _run(*words: str) -> str:
    result = CliRunner().invoke(cli, ["ride", *words], catch_exceptions=False, env={"COLUMNS": "100"})
    assert result.exit_code == 0, result.output
    return result.output


def test_the_text_says_what_the_keys_say(tmp_path: Path) -> None:
    picture = tmp_path / "edge.svg"
    asked = (str(JOB), "--as-it-is", "--event", "square edge")
    text = _run(*asked, "--svg", str(picture))
    document = RideDocument.model_validate(json.loads(_run(*asked, "--json")))
    before = document.events[0].before
    push = before.figures["hardest push"]
    assert push is not None
    assert f"pushes up by {push / 9.80665:.1f} g" in text
    assert f"{1000 * before.left_m:.0f} mm left" in " ".join(text.split())
    assert abs(before.energy_imbalance) < 1e-6
    assert math.isclose(before.rest_m + (before.figures["travel used"] or 0.0), before.deepest_m)
    drawn = picture.read_text(encoding="utf-8")
    assert "square edge" in drawn
    assert 'aria-label="square edge: wheel travel before and after"' in drawn


def test_imperial_units_reach_every_length_and_velocity() -> None:
    text = _run(str(JOB), "--as-it-is", "--event", "square edge", "--units", "imperial")
    assert " mm" not in text
    assert " m/s" not in text.replace("m/s²", "")


@pytest.mark.parametrize("model", [RideDocument, RideEventDocument, RideTold])
def test_every_key_is_on_its_page(model: type[RideDocument]) -> None:
    part = PAGE[PAGE.index("\n## ride\n") :]
    assert [key for key in model.model_fields if f"`{key}`" not in part] == []


def test_an_event_that_is_not_there_is_refused_with_the_nearest() -> None:
    with pytest.raises(InputError, match=r"got event 'squre edge'.* Did you mean 'square edge'"):
        CliRunner().invoke(
            cli, ["ride", str(JOB), "--as-it-is", "--event", "squre edge"], catch_exceptions=False
        )


@thorough_only("plans a whole job")
def test_each_step_of_effort_has_a_line(tmp_path: Path) -> None:
    text = _run(str(JOB), "--event", "landing", "--time-limit", "20")
    assert "clickers only:" in text
    assert "1 change:" in text
    assert "Clickers only: felt" in text
