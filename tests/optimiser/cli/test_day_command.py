"""The day and the labels as somebody types them: a table in the terminal, a page for the wall."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from optimiser.cli.plain_table import show_table
from optimiser.ledger.builds import done
from optimiser.ledger.connection import Ledger
from optimiser.ledger.jobs import record_outcome
from tests.helpers.command_line import Typed
from tests.helpers.ledger_shop import A, B, new_shop, reserved_job

HOSTILE = "Better <b>than</b> before"


@pytest.fixture
def day_shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """One job to build, one ridden, and a job file that the ledger has not seen."""
    new_shop(tmp_path)
    with Ledger.open(tmp_path) as ledger:
        reserved_job(ledger, "ines", taken={A: 1})
        done(ledger, "ines")
        record_outcome(ledger, "ines", HOSTILE)
        reserved_job(ledger, "jonas", taken={B: 1}, rider="Jonas")
    (tmp_path / "jobs").mkdir()
    (tmp_path / "jobs" / "new.toml").write_text("", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


LINE = "shimwright plan jobs/the_fork_that_dives_on_the_brakes.toml"


@pytest.mark.parametrize(("whose", "on_one_line"), [("", True), ("Ines, Oxlip 140 trail bike, Tarn", False)])
def test_what_to_type_next_is_never_cut_on_a_narrow_terminal(
    whose: str, on_one_line: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A column that nobody has filled leaves its room to the others."""
    monkeypatch.setenv("COLUMNS", "80")
    show_table(("Job", "Whose", "Next"), [("the_fork", whose, LINE)], empty="")
    out = capsys.readouterr().out
    assert (LINE in out) is on_one_line
    assert ("Whose" in out) is bool(whose)
    assert "\u2026" not in out


def test_the_day_lists_what_is_open_reserved_low_and_ridden_with_what_to_type_next(
    day_shop: Path, typed: Typed
) -> None:
    seen = typed("day", "--page", "day.html")
    assert seen.code == 0
    for words in (
        "to build",
        "shimwright done jonas",
        "shimwright plan jobs/new.toml",
        HOSTILE,
        "19x0.15, hole 8",
    ):
        assert words in " ".join(seen.out.split()), words
    page = (day_shop / "day.html").read_text(encoding="utf-8")
    assert "Better &lt;b&gt;than&lt;/b&gt; before" in page
    assert "<b>than" not in page
    found = json.loads(typed("day", "--json").out)
    assert (found["format"], found["not_in_the_ledger"]) == ("shimwright day 1", ["new"])
    assert [job["stage"] for job in found["jobs"]] == ["to build"]


def test_labels_of_drawers_and_dampers_are_one_for_each(day_shop: Path, typed: Typed) -> None:
    assert "4 labels: drawers.html" in typed("labels", "drawers").out
    assert Path("drawers.html").read_text(encoding="utf-8").count('class="label"') == 4
    assert json.loads(typed("labels", "dampers", "--out", "d.html", "--json").out) == {
        "labels": 2,
        "page": "d.html",
    }
    (day_shop / "shimwright.ledger").unlink()
    new_shop(day_shop)
    with Ledger.open(day_shop) as ledger:
        reserved_job(ledger, "ines", taken={A: 1})
    assert typed("labels", "dampers", "--out", "one.html").out.startswith("1 label: one.html.")
    assert "Tarn of jonas" in Path("d.html").read_text(encoding="utf-8")


def test_a_shop_without_a_ledger_is_told_how_to_begin_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, typed: Typed
) -> None:
    monkeypatch.chdir(tmp_path)
    seen = typed("day")
    assert seen.code == 2
    assert "stock import" in seen.err


def test_a_long_name_leaves_room_on_a_terminal_for_what_to_type_next(
    day_shop: Path, typed: Typed, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    with Ledger.open(day_shop) as ledger:
        reserved_job(ledger, "pia", taken={A: 1}, rider="Pia with the long green trail bicycle")
    words = typed("day").out.split()
    assert "jobs/new.toml" in words
    assert words.count("done") == 2
    assert "…" not in " ".join(words)
