"""A complaint of the front on a rear shock: at a terminal it is asked, elsewhere it is said; then it is planned."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pexpect
import pytest

from tests.helpers.command_line import Typed
from tests.helpers.counts import thorough_only
from tests.helpers.terminals import terminals

pytestmark = pytest.mark.usefixtures("plans_once")

JOB = "jobs/other_end.toml"
ASKED = "This symptom is felt at the front; the damper of this job sits at the rear. Plan it all the same?"
TEXT = """title = "Dives, on a shock"
shop = "Back Lane Suspension"
rider = "../riders/ines.toml"
bike = "../bikes/oxlip_trail.toml"
damper = "../dampers/tarn_shock.toml"
shelf = "../shelf.csv"

[complaint]
symptom = "dives on the brakes"
words = "Dives when I brake."

[work]
stack = "compression stack"
most_changes = 0
"""


@pytest.fixture
def job(shop: Path) -> Path:
    place = shop / JOB
    place.write_text(TEXT, encoding="utf-8")
    return place


@pytest.fixture
def at_a_terminal(job: Path) -> Iterator[Callable[..., Any]]:
    """Start plan at a terminal of its own."""
    with terminals(job.parents[1], timeout=120) as start:
        yield partial(start, "plan", JOB)


def test_a_no_at_the_terminal_plans_nothing(at_a_terminal: Callable[..., Any], job: Path) -> None:
    child = at_a_terminal()
    child.expect_exact(ASKED)
    child.sendline("n")
    child.expect_exact("Not planned. Name the damper or the symptom of the other end in the job")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 4
    assert not job.with_suffix(".html").exists()


@thorough_only("plans three times")
def test_a_yes_goes_on_and_programs_are_never_asked(at_a_terminal: Callable[..., Any], job: Path) -> None:
    child = at_a_terminal()
    child.expect_exact(ASKED)
    child.sendline("")
    child.expect_exact("Mind: end of the complaint: got one that is felt at the front")
    child.expect(pexpect.EOF)
    assert "End of the complaint: one that is felt at the front. Planned all the same." in job.with_suffix(
        ".html"
    ).read_text(encoding="utf-8")
    child = at_a_terminal("--json")
    child.expect_exact('"what": "end of the complaint"')
    child.expect(pexpect.EOF)
    assert ASKED not in (child.before or "")


@pytest.mark.usefixtures("job")
@thorough_only("plans; what is said is tried by itself")
def test_away_from_a_terminal_it_is_said_and_planned(typed: Typed) -> None:
    document = json.loads(typed("plan", JOB, "--json").out)
    assert document["outcome"] != "basics first"
    (finding,) = [one for one in document["findings"] if one["what"] == "end of the complaint"]
    assert finding["expected"] == "one that is felt at the rear, where the damper of this job sits"
    seen = typed("plan", JOB)
    assert "Mind: end of the complaint" in seen.out
    assert ASKED not in seen.out


def test_intake_asks_before_it_writes_the_job(shop: Path, typed: Typed) -> None:
    """A yes is kept; a no is refused with the way out, so that another symptom is chosen."""
    answers = shop / "jobs/answers.toml"
    given = {
        "title": "Dives",
        "rider": "../riders/ines.toml",
        "bike": "../bikes/oxlip_trail.toml",
        "damper": "../dampers/tarn_shock.toml",
        "shelf": "../shelf.csv",
        "symptom": "dives on the brakes",
        "stack": "compression stack",
    }

    def run(**more: str) -> Any:
        lines = (f"{json.dumps(key)} = {json.dumps(text)}\n" for key, text in {**given, **more}.items())
        answers.write_text("".join(lines), encoding="utf-8")
        return typed("intake", "jobs/new.toml", "--answers", answers)

    seen = run(**{"other end": "no"})
    assert seen.code == 2
    assert "other end: got 'no', expected yes. Else type 'back'" in seen.err
    assert not (shop / "jobs/new.toml").exists()
    assert run(**{"other end": "yes"}).code == 0
    (shop / "jobs/new.toml").unlink()
    assert run().code == 0
    (shop / "jobs/new.toml").unlink()
    seen = run(**{"other end": "yes", "symptom": "wallows in long turns"})
    assert "other end: unknown key" in seen.err
