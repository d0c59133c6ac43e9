"""Shims are reserved, used and come back; a damper remembers its stacks."""

from collections.abc import Iterator
from pathlib import Path
from typing import NoReturn

import pytest

from optimiser.ledger.builds import done, open_build, release, reserve
from optimiser.ledger.check import examine
from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import NotEnoughShimsError, RefusedError
from optimiser.ledger.jobs import JobRecord, record_job, record_outcome, stack_history
from optimiser.ledger.levels import free_stock
from optimiser.ledger.shelf_changes import count_type, receive, scrap
from optimiser.ledger.undo import past_operations, undo
from tests.helpers.ledger_shop import STACK, A, B, C, D, counts, new_job, planned, reserved_job, snapshot


@pytest.fixture
def ledger(shop: Path) -> Iterator[Ledger]:
    with Ledger.open(shop) as opened:
        yield opened
        assert examine(opened) == ()


def test_a_reserved_shim_lies_on_the_shelf_but_is_not_free(ledger: Ledger) -> None:
    reserved_job(ledger, "ines", taken={A: 3})
    assert counts(ledger)[A] == (4, 3)
    assert free_stock(ledger).count(A) == 1


def test_done_uses_what_was_reserved_and_returns_what_came_out(ledger: Ledger) -> None:
    reserved_job(ledger, "ines", taken={A: 3}, returned={D: 2})
    assert done(ledger, "ines").state == "done"
    assert counts(ledger) == {A: (1, 0), B: (2, 0), C: (1, 0), D: (2, 0)}


def test_what_came_out_bent_is_scrapped_and_does_not_reach_the_shelf(ledger: Ledger) -> None:
    reserved_job(ledger, "ines", taken={A: 1}, returned={D: 2})
    done(ledger, "ines", scrapped={D: 1})
    assert counts(ledger)[D] == (1, 0)


def test_more_than_came_out_cannot_be_scrapped(ledger: Ledger) -> None:
    reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
    before = snapshot(ledger)
    with pytest.raises(RefusedError, match=r"17x0\.10: got 2 to scrap, expected 1 to 1"):
        done(ledger, "ines", scrapped={D: 2})
    assert snapshot(ledger) == before


def test_release_gives_everything_back(ledger: Ledger) -> None:
    before = counts(ledger)
    reserved_job(ledger, "ines", taken={A: 3, B: 1}, returned={D: 1})
    release(ledger, "ines")
    assert counts(ledger) == before
    assert open_build(ledger, "ines") is None


def test_the_loser_is_told_who_has_the_shim_and_what_he_can_still_build(ledger: Ledger) -> None:
    reserved_job(ledger, "ines", taken={C: 1})
    numbers = new_job(ledger, "jonas")
    before = snapshot(ledger)
    with pytest.raises(NotEnoughShimsError) as told:
        reserve(ledger, planned(numbers, taken={A: 1, C: 1}), other_way=lambda: "Candidate 2 is free of it.")
    assert str(told.value) == (
        "18x0.20 (hole 8 mm): needs 1, 0 free on the shelf; job 'ines' has the rest\nCandidate 2 is free of it."
    )
    assert snapshot(ledger) == before


def test_a_sheet_that_cannot_be_written_leaves_nothing_reserved(ledger: Ledger) -> None:
    def no_sheet() -> NoReturn:
        raise OSError("no paper")

    numbers = new_job(ledger, "ines")
    before = snapshot(ledger)
    with pytest.raises(OSError, match="no paper"):
        reserve(ledger, planned(numbers, taken={A: 1}), write_sheet=no_sheet)
    assert snapshot(ledger) == before


def test_the_sheet_is_kept_so_that_it_can_be_printed_again(ledger: Ledger) -> None:
    numbers = new_job(ledger, "ines")
    reserve(ledger, planned(numbers, taken={A: 1}), write_sheet=lambda: "the sheet")
    build = open_build(ledger, "ines")
    assert build is not None
    assert build.sheet == "the sheet"
    assert build.taken == {A: 1}


def test_a_job_or_a_damper_has_one_open_build(ledger: Ledger) -> None:
    numbers = reserved_job(ledger, "ines", taken={A: 1})
    with pytest.raises(RefusedError, match="already has candidate 1 reserved"):
        reserve(ledger, planned(numbers, taken={B: 1}))


def test_a_plan_for_a_damper_that_was_changed_since_is_refused(ledger: Ledger) -> None:
    numbers = reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
    stale = planned(numbers, taken={B: 1}, returned={D: 2})
    done(ledger, "ines")
    with pytest.raises(RefusedError, match="no longer as this plan saw it"):
        reserve(ledger, stale)


def test_a_damper_file_from_before_the_last_build_is_refused_with_the_lines_to_write(ledger: Ledger) -> None:
    reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
    done(ledger, "ines")
    with pytest.raises(RefusedError, match=r'expected shims = \["17x0\.10", "20x0\.10"\]'):
        new_job(ledger, "ines")
    record = JobRecord("ines", "t", "Ines", "Oxlip 140", "Tarn of ines", stacks={STACK: (D, D)})
    numbers = record_job(ledger, record, as_found=True)
    assert [state.origin for state in stack_history(ledger, numbers.damper_id)] == [
        "as found",
        "built",
        "as found",
    ]


def test_the_history_of_a_damper_names_the_jobs_that_built_it(ledger: Ledger) -> None:
    numbers = reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
    done(ledger, "ines")
    undo(ledger)
    history = stack_history(ledger, numbers.damper_id)
    assert [(state.origin, state.job, state.stack) for state in history] == [
        ("as found", None, (D, D)),
        ("built", "ines", (D, A)),
        ("put back", "ines", (D, D)),
    ]


def test_done_without_a_reservation_says_how_to_get_one(ledger: Ledger) -> None:
    new_job(ledger, "ines")
    with pytest.raises(RefusedError, match=r"nothing is reserved for it\. Reserve a candidate with"):
        done(ledger, "ines")
    with pytest.raises(RefusedError, match="job 'inez': not in the ledger; the latest are 'ines'"):
        done(ledger, "inez")


def test_a_job_name_belongs_to_one_damper(ledger: Ledger) -> None:
    new_job(ledger, "ines")
    with pytest.raises(RefusedError, match="another rider, machine or damper"):
        new_job(ledger, "ines", rider="Jonas")


def test_undo_of_every_step_returns_the_start_and_keeps_the_past_readable(ledger: Ledger) -> None:
    before = counts(ledger)
    reserved_job(ledger, "ines", taken={A: 2}, returned={D: 2})
    done(ledger, "ines", scrapped={D: 1})
    receive(ledger, B, 5, reason="invoice 12")
    scrap(ledger, C, 1, reason="bent")
    count_type(ledger, A, 9, reason="stock-take")
    taken_back = [undo(ledger).kind for _ in range(5)]
    assert taken_back == ["count", "scrap", "receive", "done", "build"]
    assert counts(ledger) == before
    assert [step.kind for step in past_operations(ledger, most=20)] == ["undo"] * 5 + taken_back + ["import"]


def test_a_step_whose_shims_have_gone_is_not_taken_back(ledger: Ledger) -> None:
    receive(ledger, D, 2, reason="invoice")
    reserved_job(ledger, "ines", taken={D: 1}, before=(A,))
    number = next(step.number for step in past_operations(ledger, most=9) if step.kind == "receive")
    with pytest.raises(NotEnoughShimsError, match="job 'ines' has the rest"):
        undo(ledger, number)


def test_a_build_is_not_taken_back_while_a_later_step_rests_on_it(ledger: Ledger) -> None:
    reserved_job(ledger, "ines", taken={A: 1})
    number = past_operations(ledger, most=1)[0].number
    done(ledger, "ines")
    with pytest.raises(RefusedError, match="Undo the later step first"):
        undo(ledger, number)


def test_an_undo_is_not_undone_but_done_again(ledger: Ledger) -> None:
    receive(ledger, D, 2, reason="invoice")
    undo(ledger)
    number = past_operations(ledger, most=1)[0].number
    with pytest.raises(RefusedError, match="itself an undo"):
        undo(ledger, number)


def test_shims_promised_to_a_job_cannot_be_scrapped_or_counted_away(ledger: Ledger) -> None:
    reserved_job(ledger, "ines", taken={A: 3})
    with pytest.raises(NotEnoughShimsError, match="needs 2, 1 free"):
        scrap(ledger, A, 2, reason="bent")
    with pytest.raises(RefusedError, match="got a count of 2, expected at least the 3"):
        count_type(ledger, A, 2, reason="stock-take")


def test_the_outcome_of_a_ride_is_written_to_its_job(ledger: Ledger) -> None:
    new_job(ledger, "ines")
    record_outcome(ledger, "ines", "Stands up better, edges unchanged.")
    with ledger.reading() as connection:
        assert connection.execute("SELECT words FROM outcome").fetchone()[0].startswith("Stands up")


def test_two_builds_of_the_same_stack_are_taken_back_one_after_the_other(ledger: Ledger) -> None:
    numbers = reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
    done(ledger, "ines")
    first = past_operations(ledger, most=1)[0].number
    reserve(ledger, planned(numbers, taken={B: 1}, before=(D, A)))
    done(ledger, "ines")
    with pytest.raises(RefusedError, match="rests on it"):
        undo(ledger, first)
    assert [undo(ledger).kind for _ in range(4)] == ["done", "build", "done", "build"]
    assert stack_history(ledger, numbers.damper_id)[-1].stack == (D, D)
