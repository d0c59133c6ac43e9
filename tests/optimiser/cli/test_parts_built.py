"""A plan with another oil is built: the books, the damper's file, and the way back."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.helpers.command_line import Typed
from tests.helpers.counts import thorough_only
from tests.helpers.paths import DEMO

JOB, NAME = "at_hand/fork_oil.toml", "fork_oil"


@pytest.fixture
def demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The demo shop, with a ledger of its shelf still to be begun."""
    shutil.copytree(DEMO, tmp_path / "demo")
    monkeypatch.chdir(tmp_path / "demo")
    return tmp_path / "demo"


@thorough_only("a whole plan with other parts takes seconds, and is made three times")
def test_done_writes_the_oil_into_the_dampers_file_and_undo_takes_it_back(demo: Path, typed: Typed) -> None:
    file = demo / "dampers" / "yaffle_fork.toml"
    before = file.read_text(encoding="utf-8")
    assert typed("stock", "import", "shelf.csv", "--write").code == 0
    planned = typed("plan", JOB, "--json", "--time-limit", "0").out
    document = json.loads(planned)
    assert document["outcome"] == "parts"
    chosen = document["parts"]["chosen"][0]
    assert (chosen["file_before"], chosen["file_after"]) == (
        {"name": "fork oil", "iso_vg": 15},
        {"name": "ISO VG 22", "iso_vg": 22},
    )
    # how surely it does what is promised is said of the candidates, and of every step in range
    assert 0 < document["candidates"][0]["sure"]["chance"] < 1
    assert all((one["chance_percent"] is not None) == one["in_range"] for one in document["parts"]["steps"])
    (demo / "plan.json").write_text(planned, encoding="utf-8")
    compared = json.loads(typed("compare", JOB, "--plan", "plan.json", "--pick", "1", "--json").out)
    assert "ISO VG 22" in json.dumps(compared)
    built = typed("build", JOB, "--plan", "plan.json", "--time-limit", "0")
    assert built.code == 0, built.err
    done = typed("done", JOB)
    assert done.code == 0, done.err
    assert "oil is now as it is in the damper" in done.out
    text = file.read_text(encoding="utf-8")
    assert 'name = "ISO VG 22"\niso_vg = 22' in text
    assert text.replace("ISO VG 22", "fork oil").replace("iso_vg = 22", "iso_vg = 15") == before
    back = typed("undo")
    assert "oil is now as it is in the damper" in back.out
    assert file.read_text(encoding="utf-8") == before
    assert typed("check").code == 0


@thorough_only("a whole plan with other parts takes seconds")
def test_with_a_chance_asked_the_least_work_is_that_which_has_it(demo: Path, typed: Typed) -> None:
    found = json.loads(typed("plan", JOB, "--json", "--confidence", "0.7", "--time-limit", "0").out)
    assert found["outcome"] == "parts"
    assert found["confidence"]["reached"]
    assert found["candidates"][0]["sure"]["chance"] >= 0.69
    least = next(one for one in found["parts"]["steps"] if one["in_range"])
    assert least["parts"]
    plain = json.loads(typed("plan", JOB, "--json", "--time-limit", "0").out)
    assert least["minutes"] >= next(one["minutes"] for one in plain["parts"]["steps"] if one["in_range"])
