"""A job that names no stack is planned over all stacks of its damper, and the sheet says so stack by stack."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.helpers.command_line import Typed
from tests.helpers.counts import thorough_only

JOB = "jobs/both_strokes.toml"
BASE, REBOUND = "base compression stack", "rebound stack"
FEW = {
    BASE: '["17x0.15", "17x0.10", "13x0.15", "8x0.30"]',
    REBOUND: '["16x0.15", "16x0.10", "12x0.15", "8x0.30"]',
}
SHELF = "outer_mm,thickness_mm,hole_mm,count\n17,0.10,6,2\n16,0.10,6,2\n13,0.10,6,1\n12,0.10,6,1\n"
TEXT = """
title = "Fork: both strokes"
rider = "../riders/ines.toml"
bike = "../bikes/oxlip_trail.toml"
damper = "../dampers/yaffle_fork.toml"
shelf = "../few.csv"

[work]
most_changes = 2
candidates = 3

[[target]]
name = "braking"
stroke = "compression"
from_m_s = 0.2
to_m_s = 0.3
shift_percent = 24.0
tolerance_percent = 12.0

[[target]]
name = "coming back"
stroke = "rebound"
from_m_s = 0.2
to_m_s = 0.4
shift_percent = 24.0
tolerance_percent = 12.0
"""

HOLD = """[[hold]]
name = "coming back"
stroke = "rebound"
from_m_s = 0.2
to_m_s = 0.4
tolerance_percent = 5.0
"""


@pytest.fixture
def fork(shop: Path) -> Path:
    """The shop with a fork of two stacks of four shims each, and a job in both strokes that names none."""
    return with_few_shims(shop)


def with_few_shims(shop: Path) -> Path:
    """A shop whose fork has few shims, with a job for both of its stacks."""
    damper = shop / "dampers" / "yaffle_fork.toml"
    text = damper.read_text(encoding="utf-8")
    for name, shims in FEW.items():
        found = rf'(name = "{name}".*?shims = )\[.*?\]'
        text = re.sub(found, rf"\g<1>{shims}", text, count=1, flags=re.DOTALL)
    damper.write_text(text, encoding="utf-8")
    (shop / "few.csv").write_text(SHELF, encoding="utf-8")
    (shop / JOB).write_text(TEXT, encoding="utf-8")
    return shop


@thorough_only("a whole plan takes seconds")
def test_two_stacks_that_have_to_change_are_planned_drawn_and_told_together(fork: Path, typed: Typed) -> None:
    document = json.loads(typed("plan", JOB, "--json", "--time-limit", "0").out)
    assert document["status"] == "proven least"
    assert document["open_stacks"] == [BASE, REBOUND]
    assert document["proven_too_few"] == 1
    first = document["candidates"][0]
    assert first["number_of_changes"] == 2
    assert [one["stack_name"] for one in first["others"]] == [REBOUND]
    assert all(band["within"] for band in first["bands"])
    assert {words.split(": ")[0] for words in first["steps"] if "take out" in words or "put in" in words} == {
        BASE,
        REBOUND,
    }
    step = next(one for one in document["ladder"] if one["number_of_changes"] == 2)
    assert (step["opens"], step["hours"]) == (f"{BASE} and {REBOUND}", 2.17)  # 60 + 60 + 2 x 5 minutes
    page = (fork / JOB).with_suffix(".html").read_text(encoding="utf-8")
    assert f"<h3>{BASE}</h3>" in page
    assert f"<h3>{REBOUND}</h3>" in page
    assert page.count("<svg") >= 4
    # how surely both do it together is said, and a chance can be asked of them
    assert 0 < first["sure"]["chance"] < 1
    sure = json.loads(typed("plan", JOB, "--json", "--confidence", "0.5", "--time-limit", "0").out)
    assert sure["confidence"]["reached"]
    (fork / "plan.json").write_text(json.dumps(document), encoding="utf-8")
    compared = typed("compare", JOB, "--plan", "plan.json", "--pick", "1")
    assert compared.code == 0
    assert "rebound stack too" in " ".join(compared.out.split())
    # both stacks are reserved, built and taken back as one
    damper = fork / "dampers" / "yaffle_fork.toml"
    before = damper.read_text(encoding="utf-8")
    assert typed("stock", "import", "few.csv", "--write").code == 0
    taken = json.loads(typed("build", JOB, "--json").out)["taken"]
    assert sum(one["count"] for one in taken) == 2
    done = typed("done", JOB)
    assert f"{BASE!r} is now as it is in the damper" in done.out
    assert f"{REBOUND!r} is now as it is in the damper" in done.out
    after = damper.read_text(encoding="utf-8")
    assert after != before
    assert typed("undo").code == 0
    assert damper.read_text(encoding="utf-8") == before
    assert typed("check").code == 0


def test_where_a_click_does_nothing_is_said_of_opening(shop: Path, typed: Typed) -> None:
    job = shop / "jobs" / "b_clicks_do.toml"
    named = job.read_text(encoding="utf-8")
    job.write_text(named.replace('stack = "compression stack"\n', ""), encoding="utf-8")
    said = " ".join(typed("plan", "jobs/b_clicks_do.toml").out.split())
    assert "Tarn 55 trail shock, all stacks" in said
    assert "2 stacks may change: 'compression stack', 'rebound stack'." in said
    assert "opening" not in said


@thorough_only("every question is a search over two stacks")
def test_whoever_names_no_stack_is_told_of_all_of_them(fork: Path, typed: Typed) -> None:
    reach = json.loads(typed("reach", JOB, "--changes", "2", "--time-limit", "0", "--json").out)
    assert reach["open_stacks"] == [BASE, REBOUND]
    assert reach["status"] == "proven"
    for number, band in enumerate(reach["bands"]):
        for changes in range(3):
            alone = [one["bands"][number]["extents"][changes]["most"] for one in reach["each"]]
            most = band["extents"][changes]["most"]["shift_percent"]
            assert most >= max(one["shift_percent"] for one in alone)
    steps = json.loads(typed("resolution", JOB, "--json").out)
    assert [steps["stack_name"], *(one["stack_name"] for one in steps["others"])] == [BASE, REBOUND]
    out_of_reach = (fork / JOB).read_text(encoding="utf-8").replace("24.0", "40.0")
    (fork / JOB).write_text(out_of_reach, encoding="utf-8")
    (fork / "six.csv").write_text("outer_mm,thickness_mm,hole_mm,price\n12,0.20,6,1\n17,0.20,6,1\n")
    bought = json.loads(typed("shop", JOB, "--catalogue", "six.csv", "--time-limit", "0", "--json").out)
    assert (bought["outcome"], bought["status"]) == ("buy", "proven")
    assert bought["purchases"][0]["others"] or bought["purchases"][0]["number_of_changes"] == 1


@thorough_only("a search in vain, and what would do instead")
def test_where_nothing_does_what_would_is_looked_for_in_all_stacks(fork: Path, typed: Typed) -> None:
    job = fork / JOB
    text = job.read_text(encoding="utf-8").replace("tolerance_percent = 12.0", "tolerance_percent = 3.0", 1)
    held = text[: text.rindex("[[target]]")] + HOLD
    job.write_text(held, encoding="utf-8")
    found = json.loads(typed("plan", JOB, "--json", "--time-limit", "0").out)
    assert found["status"] == "proven impossible"
    last = found["loosenings"][-1]
    typed_line = last["typed"].split()[1:]
    again = json.loads(typed(*(word.strip("'\"") for word in typed_line), "--json").out)
    assert again["candidates"], last


@thorough_only("a whole plan takes seconds")
def test_a_stack_that_may_have_changed_and_need_not_be_opened_is_named(fork: Path, typed: Typed) -> None:
    job = fork / JOB
    text = job.read_text(encoding="utf-8")
    job.write_text(text[: text.rindex("[[target]]")], encoding="utf-8")
    seen = typed("plan", JOB)
    assert seen.code == 0
    said = " ".join(seen.out.split())
    assert f"Need not be opened: {REBOUND}." in said
    assert "opening an assembly is taken as 1 h of work" in said
    assert f"Need not be opened: {REBOUND}." in job.with_suffix(".html").read_text(encoding="utf-8")
