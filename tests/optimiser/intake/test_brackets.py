"""One adjuster at a time, the others held; the notes come back and are understood."""

import pytest

from optimiser.errors import InputError
from optimiser.intake.basics import GateResult
from optimiser.intake.brackets import Adjuster, Notes, check_brackets, ride_plan, with_brackets

ADJUSTERS = [Adjuster("rebound", 16, 8), Adjuster("compression", 12, 3)]


def expected(adjuster: str, clicks: int) -> dict[str, float]:
    return {"low speed": (3 - clicks) * 0.02 if adjuster == "compression" else 0.0}


def test_only_one_adjuster_moves_at_a_time() -> None:
    for run in ride_plan(adjusters=ADJUSTERS).runs:
        held = {a.name: a.at for a in ADJUSTERS if a.name != run.adjuster}
        assert run.held == held


def test_each_adjuster_is_ridden_where_it_stands_at_both_ends_and_in_the_middle() -> None:
    runs = ride_plan(adjusters=ADJUSTERS).runs
    assert [r.clicks for r in runs if r.adjuster == "rebound"] == [8, 0, 16]
    assert [r.clicks for r in runs if r.adjuster == "compression"] == [3, 0, 6, 12]


def test_the_printed_plan_has_what_to_set_what_is_held_what_is_expected_and_room_to_write() -> None:
    text = ride_plan(adjusters=ADJUSTERS, predict=expected).text()
    assert "7. compression: 12 clicks out   (held: rebound 8)" in text
    assert "model expects, against the start: low speed −18 %" in text
    assert text.count("better: ____") == 7


def test_an_adjuster_that_was_not_ridden_is_said_and_stops_nothing() -> None:
    findings = check_brackets(adjusters=ADJUSTERS, notes=[])
    assert [f.got for f in findings] == ["not ridden", "not ridden"]
    assert not any(f.stops for f in findings)


@pytest.mark.parametrize(
    ("note", "advice"),
    [
        (Notes("compression", 0, 6, best=2), "Ride the rest of the range"),
        (Notes("compression", 0, 12), "does not reach what is complained of"),
        (Notes("compression", 0, 12, best=0), "Best at its closed end: the range is used up"),
        (Notes("compression", 0, 12, best=12), "Best at its open end"),
        (Notes("compression", 0, 12, best=6), "The model says this moves low speed −6 %"),
    ],
)
def test_the_notes_lead_to_advice(note: Notes, advice: str) -> None:
    findings = check_brackets(adjusters=ADJUSTERS, notes=[note], predict=expected)
    assert advice in findings[1].do_this


def test_the_riders_words_are_kept() -> None:
    note = Notes("rebound", 0, 16, best=8, better="calm in the bends", worse="packs when closed")
    finding = check_brackets(adjusters=ADJUSTERS, notes=[note])[0]
    assert finding.got == "ridden from 0 to 16 clicks out, best at 8"
    assert finding.why == "better: calm in the bends; worse: packs when closed"


@pytest.mark.parametrize(
    ("note", "text"),
    [
        (Notes("hsc", 0, 4), "got adjuster 'hsc', expected one of rebound, compression"),
        (Notes("compression", 0, 20), "got highest 20 clicks out, expected 0 to 12"),
        (Notes("compression", 2, 6, best=9), "got best at 9 clicks out, expected it between 2 and 6"),
    ],
)
def test_notes_that_cannot_be_are_refused(note: Notes, text: str) -> None:
    with pytest.raises(InputError, match=text):
        check_brackets(adjusters=ADJUSTERS, notes=[note])


def test_an_adjuster_outside_its_own_range_is_refused() -> None:
    with pytest.raises(InputError, match="got 20 clicks out, expected 0 to 16"):
        ride_plan(adjusters=[Adjuster("rebound", 16, 20)])


def test_the_gate_knows_which_adjusters_were_ridden_and_which_were_not() -> None:
    gate = GateResult(passed=True, findings=(), unchecked=("sag, rear",), override_reason=None)
    told = with_brackets(gate, adjusters=ADJUSTERS, notes=[Notes("compression", 0, 12, best=0)])
    assert told.passed
    assert [finding.what for finding in told.findings] == ["bracketing, compression"]
    assert told.unchecked == ("sag, rear", "bracketing, rebound")
