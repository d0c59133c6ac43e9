"""The bands of a job written anew in its file, with every other line and comment left alone."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from optimiser.errors import InputError
from optimiser.files.bands_in_job import Row, with_bands, write_bands
from tests.helpers.paths import ROOT

JOB = ROOT / "inventory_demo" / "jobs" / "c_sag_first.toml"
TARGET: Row = {
    "name": "support", "stroke": "compression", "from_m_s": 0.05, "to_m_s": 0.12, "shift_percent": 12.0,
    "tolerance_percent": 3.0,
}  # fmt: skip
HOLD: Row = {
    "name": "edges",
    "stroke": "compression",
    "from_m_s": 0.7,
    "to_m_s": 1.2,
    "tolerance_percent": 2.0,
}


def test_only_the_bands_and_the_most_changes_are_written() -> None:
    text = JOB.read_text(encoding="utf-8")
    written = with_bands(
        text, targets=[TARGET], holds=[HOLD, {**HOLD, "name": "more"}], most_changes=1, path=JOB
    )
    before, after = tomllib.loads(text), tomllib.loads(written)
    assert after.pop("target") == [TARGET]
    assert [one["name"] for one in after.pop("hold")] == ["edges", "more"]
    assert after["work"].pop("most_changes") == 1
    before.get("work", {}).pop("most_changes", None)
    assert after == before
    comments = [line for line in text.splitlines() if line.startswith("#")]
    assert comments
    assert [line for line in written.splitlines() if line.startswith("#")] == comments


def test_writing_the_same_again_changes_nothing() -> None:
    once = with_bands(
        JOB.read_text(encoding="utf-8"), targets=[TARGET], holds=[HOLD], most_changes=2, path=JOB
    )
    assert with_bands(once, targets=[TARGET], holds=[HOLD], most_changes=2, path=JOB) == once


@pytest.mark.parametrize(
    "wrong",
    [{"from_m_s": 0.2}, {"stroke": "sideways"}, {"shift_percent": 0.0}, {"name": "x" * 81}, {"to_m_s": 99.0}],
)
def test_what_no_job_may_ask_is_refused_and_the_file_stays(wrong: Row, tmp_path: Path) -> None:
    place = tmp_path / "job.toml"
    place.write_text(JOB.read_text(encoding="utf-8"), encoding="utf-8")
    with pytest.raises(InputError, match="job"):
        write_bands(place, targets=[{**TARGET, **wrong}], holds=[], most_changes=1)
    assert place.read_text(encoding="utf-8") == JOB.read_text(encoding="utf-8")
