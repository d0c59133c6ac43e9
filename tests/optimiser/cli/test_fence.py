"""No traceback reaches a user: what is wrong is refused where it is read, and one fence stands behind that."""

import contextlib
import json
import sqlite3
import stat
from pathlib import Path

import pytest

import optimiser.cli.leverage_command
from optimiser.cli.fence import FAULT
from optimiser.ledger.connection import Ledger
from tests.helpers.command_line import Typed
from tests.helpers.ledger_shop import new_job, new_shop

pytestmark = pytest.mark.usefixtures("plans_once")

JOB, DAMPER, BIKE = "jobs/a_more_support.toml", "dampers/tarn_shock.toml", "bikes/oxlip_trail.toml"


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


REFUSED = {
    "a zero byte in a path": (JOB, '"../riders/ines.toml"', r'"../riders/in\u0000es.toml"', "null byte"),
    "a path of 300 characters": (JOB, '"../riders/ines.toml"', f'"{"x" * 300}.toml"', "File name too long"),
    "lists nested 900 deep": (JOB, "title =", f"x = {'[' * 900}{']' * 900}\ntitle =", "more than 12 deep"),
    "tables nested 900 deep": (JOB, "title =", f"{'a.' * 900}b = 1\ntitle =", "more than 12 deep"),
    "a number of 5,000 digits": (
        DAMPER,
        "stroke_mm = 55.0",
        f"stroke_mm = {'9' * 5000}",
        "thousands of digits",
    ),
    "a number of 9,000 hexadecimal digits": (
        DAMPER,
        "stroke_mm = 55.0",
        f"stroke_mm = 0x{'f' * 9000}",
        "got a number of some 10838 digits",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_no_file_should_hold_is_refused_where_it_is_read(case: str, shop: Path, typed: Typed) -> None:
    file, old, new, says = REFUSED[case]
    edit(shop / file, old, new)
    seen = typed("plan", JOB)
    assert seen.code == 2
    assert says in seen.err
    assert file in seen.err or "riders" in seen.err or "xxx" in seen.err
    assert len(seen.err) < 2000


def test_a_job_name_of_300_characters_is_refused_by_intake(shop: Path, typed: Typed) -> None:
    seen = typed("intake", f"jobs/{'x' * 300}.toml")
    assert seen.code == 2
    assert "File name too long" in seen.err


@pytest.mark.parametrize("words", [("leverage", BIKE, "--corner", "rear"), ("curve", DAMPER, "--to", "0.2")])
def test_brackets_and_colons_in_a_name_are_only_text(
    words: tuple[str, ...], shop: Path, typed: Typed
) -> None:
    edit(shop / BIKE, 'name = "Oxlip 140 trail bike"', 'name = "Oxlip [/140] :smile:"')
    edit(shop / DAMPER, 'name = "low-speed compression"', 'name = "knob [/bold] :x:"')
    seen = typed(*words, *(("--clicks", "knob [/bold] :x:=3") if words[0] == "curve" else ()))
    assert seen.code == 0, seen.err
    name = "Oxlip [/140] :smile:" if words[0] == "leverage" else "knob [/bold] :x:"
    assert name in " ".join(seen.out.split())


def test_a_plan_with_infinite_shims_is_refused(shop: Path, typed: Typed) -> None:
    plan = json.loads(typed("plan", "jobs/b_clicks_do.toml", "--json").out)
    typed("stock", "import", "shelf.csv", "--write")
    plan["candidates"][0]["stack"][0]["outer_diameter_mm"] = float("inf")
    (shop / "plan.json").write_text(json.dumps(plan), encoding="utf-8")
    seen = typed("build", "jobs/b_clicks_do.toml", "--plan", "plan.json")
    assert seen.code == 2
    assert "candidates.0.stack.0.outer_diameter_mm" in seen.err


@pytest.mark.parametrize("text", ["{", "[[1, 2]]", "7", '[["a", "b", "c"]]'])
def test_a_damaged_stack_in_the_ledger_is_named(text: str, tmp_path: Path, typed: Typed) -> None:
    new_shop(tmp_path)
    with Ledger.open(tmp_path) as ledger:
        new_job(ledger, "a")
    with contextlib.closing(sqlite3.connect(tmp_path / "shimwright.ledger", isolation_level=None)) as file:
        file.execute("PRAGMA ignore_check_constraints = ON")
        file.execute("UPDATE damper_state SET stack = ?", (text,))
    for command in ("export", "show"):
        seen = typed("person", command, "Ines", "--shop", tmp_path)
        assert seen.code == 2
        assert "the ledger is damaged: a stack" in seen.err


def test_what_nothing_caught_is_one_sentence_with_a_report(
    shop: Path, typed: Typed, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def faulty(*_: object) -> None:
        raise ZeroDivisionError("nobody thought of this")

    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setattr(optimiser.cli.leverage_command, "_corner", faulty)
    seen = typed("leverage", BIKE)
    assert seen.code == FAULT
    assert seen.out == ""
    assert len(seen.err.splitlines()) == 1
    assert "A fault in shimwright, and not in your files" in seen.err
    [report] = (tmp_path / "state").rglob("fault-*.txt")
    assert str(report) in seen.err
    assert stat.S_IMODE(report.stat().st_mode) == 0o600
    text = report.read_text(encoding="utf-8")
    assert f"typed: shimwright leverage {BIKE}" in text
    assert "ZeroDivisionError: nobody thought of this" in text
    assert "leverage_command.py" in text


def test_a_report_that_can_be_written_nowhere_is_said(
    shop: Path, typed: Typed, monkeypatch: pytest.MonkeyPatch
) -> None:
    def faulty(*_: object) -> None:
        raise ZeroDivisionError

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(optimiser.cli.leverage_command, "_corner", faulty)
    monkeypatch.setattr("optimiser.cli.fence.tempfile.mkstemp", full)
    seen = typed("leverage", BIKE)
    assert seen.code == FAULT
    assert "could not be written anywhere" in seen.err
