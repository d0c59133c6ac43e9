"""What this shop rode sets the first step for a symptom, once enough rides were better; and the plan says so."""

import itertools
import json
from pathlib import Path
from typing import Any

import pytest

from optimiser.files.shelf import read_shelf
from optimiser.intake.own_record import ENOUGH
from optimiser.ledger.build_rows import PlannedBuild
from optimiser.ledger.builds import done, reserve
from optimiser.ledger.connection import Ledger
from optimiser.ledger.jobs import JobRecord, record_job, record_outcome
from optimiser.ledger.rides import no_longer_counts, steps_ridden, verdict_of
from optimiser.ledger.shelf_changes import import_shelf
from optimiser.ledger.undo import undo
from optimiser.model.stock import ShimKey
from tests.helpers.command_line import Typed
from tests.helpers.counts import thorough_only

WORDS = "wallows in long turns"
SHIM, OLD = ShimKey(20_000, 100, 8000), ShimKey(9_000, 300, 8000)
JOB = "jobs/ours.toml"


def ridden(ledger: Ledger, name: str, shift_percent: float) -> None:
    """Build and finish a job whose plan moved the symptom's band by so much."""
    band = {"name": WORDS, "role": "target", "change_percent": [shift_percent - 1, shift_percent + 1]}
    document = {"candidates": [{"rank": 1, "bands": [band]}, {"rank": 2, "bands": []}]}
    record = JobRecord(name, name, "Ines", "Oxlip", f"damper of {name}", stacks={"stack": (OLD,)})
    numbers = record_job(ledger, record)
    built = PlannedBuild(
        numbers.job_id, numbers.damper_id, json.dumps(document), 1, {SHIM: 1}, {}, "stack", (SHIM, OLD)
    )
    reserve(ledger, built)
    done(ledger, name)


@pytest.fixture
def asked(shop: Path) -> Path:
    """A job in words on the stack of seven shims, quickly planned, and a ledger without rides."""
    job = (shop / "jobs/g_too_coarse.toml").read_text(encoding="utf-8").split("[complaint]")[0]
    (shop / JOB).write_text(
        f'{job}[complaint]\nsymptom = "{WORDS}"\ncorner = "rear"\n'
        '[work]\nstack = "compression stack"\nmost_changes = 1\ncandidates = 1\n',
        encoding="utf-8",
    )
    with Ledger.open(shop, create=True) as ledger:
        import_shelf(ledger, read_shelf(shop / "shelf.csv"), reason="first count")
    return shop


def wanted(typed: Typed) -> float:
    document = json.loads(typed("plan", JOB, "--json", "--time-limit", "2").out)
    shown = document["nearest"] or document["candidates"][0]
    band = next(band for band in shown["bands"] if band["role"] == "target")
    return band["wanted_n"][0] / band["before_n"][0] - 1


@thorough_only("plans twice; the step itself is tried without a plan")
def test_enough_rides_that_were_better_set_the_step_and_the_plan_says_so(asked: Path, typed: Typed) -> None:
    table = wanted(typed)
    with Ledger.open(asked) as ledger:
        for number, shift in enumerate((3, 4, 5, 6, 30)):
            ridden(ledger, f"job{number}", shift)
    for number in range(ENOUGH - 1):
        assert typed("outcome", f"job{number}", "Better: stands up in the turn.").code == 0
    assert typed("outcome", "job4", "Rode it twice.").code == 0
    assert wanted(typed) == pytest.approx(table)  # four verdicts are not enough
    assert typed("outcome", "job4", "better, at last").code == 0
    assert wanted(typed) == pytest.approx(0.05, abs=3e-6)  # forces are written to 0.001 N
    out = " ".join(typed("plan", JOB, "--time-limit", "2").out.split())
    assert "First step from this shop's own record: +5 %, the middle of 5 rides that were better" in out


def test_only_the_last_word_on_a_job_counts_and_an_erased_rider_leaves_no_step(
    asked: Path, typed: Typed
) -> None:
    with Ledger.open(asked) as ledger:
        ridden(ledger, "one", 8)
    for words in ("better", "worse after all"):
        typed("outcome", "one", words)
    with Ledger.open(asked) as ledger:
        (step,) = steps_ridden(ledger)
    assert (step.symptom, step.shift, step.outcome) == (WORDS, pytest.approx(0.08), "worse")
    assert typed("person", "erase", "Ines", "--yes").code == 0
    with Ledger.open(asked) as ledger:
        assert steps_ridden(ledger) == ()


def test_words_on_a_ride_count_for_the_build_that_was_ridden_and_no_other(
    asked: Path,
) -> None:
    moments = (f"2026-05-04T08:00:{second:02}+00:00" for second in itertools.count())
    with Ledger.open(asked, clock=lambda: next(moments)) as ledger:
        ridden(ledger, "one", 8)
        record_outcome(ledger, "one", "worse: kicks")
        assert [step.outcome for step in steps_ridden(ledger)] == ["worse"]
        done_step = undo(ledger).number
        said = no_longer_counts(ledger, done_step)
        assert said is not None
        assert said.startswith("'worse: kicks' stays written under one, and no longer counts")
        done(ledger, "one")
        assert steps_ridden(ledger) == ()  # nobody has ridden it since
        record_outcome(ledger, "one", "better")
        assert [step.outcome for step in steps_ridden(ledger)] == ["better"]


def test_history_shows_what_was_tried_for_a_symptom_and_the_step_that_follows(
    asked: Path, typed: Typed
) -> None:
    assert "Nothing built and ridden for it yet" in typed("history", WORDS).out
    with Ledger.open(asked) as ledger:
        for number in range(ENOUGH):
            ridden(ledger, f"job{number}", 6)
    typed("outcome", "job0", "Rode it twice.")
    out = typed("history", WORDS).out
    assert f"job0: '{WORDS}' +6.0 %: Rode it twice." in out
    assert "by the table; 5 rides that were better replace it." in out
    for number in range(ENOUGH):
        typed("outcome", f"job{number}", "better")
    assert "First step from this shop's own record: +6 %" in typed("history", WORDS).out
    document = json.loads(typed("history", WORDS, "--json").out)
    assert (len(document["rides"]), document["first_step_percent"]) == (ENOUGH, 6)
    assert json.loads(typed("history", "dives on the brakes", "--json").out)["rides"] == []
    seen = typed("history", "wallows in long turnz")
    assert (seen.code, "Did you mean 'wallows in long turns'?" in seen.err) == (2, True)


@pytest.mark.parametrize(
    ("words", "verdict"),
    [
        ("Better: more grip", "better"),
        ("same", "same"),
        ("WORSE", "worse"),
        ("a bit better", None),
        ("", None),
    ],
)
def test_a_verdict_is_the_first_word(words: Any, verdict: str) -> None:
    assert verdict_of(words) == verdict
