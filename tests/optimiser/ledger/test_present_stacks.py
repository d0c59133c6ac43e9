"""What a plan takes from the ledger: the stack as it is now, and where a new sheet may lie; neither writes."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from optimiser.ledger.builds import done, release, reserve
from optimiser.ledger.connection import Ledger
from optimiser.ledger.jobs import JobRecord, record_job
from optimiser.ledger.kept_sheets import place_for_sheet
from optimiser.ledger.present_stacks import how_it_came, present_stacks
from optimiser.ledger.undo import undo
from optimiser.model.stock import ShimKey
from tests.helpers.ledger_shop import STACK, A, B, C, D, new_job, planned, reserved_job, snapshot


@pytest.fixture
def ledger(shop: Path) -> Iterator[Ledger]:
    """Open the shop's ledger."""
    with Ledger.open(shop) as opened:
        yield opened


def listed(*stack: ShimKey, rider: str = "Ines", stack_name: str = STACK) -> JobRecord:
    """The job of ines, with the damper file as it lists the stack."""
    return JobRecord(
        "ines", "More support", rider, "Oxlip 140", "Tarn of ines", stacks={stack_name: tuple(stack)}
    )


def now(ledger: Ledger, record: JobRecord) -> list[tuple[str, tuple[ShimKey, ...], str | None]]:
    """The stacks that differ from the file, and a look that nothing was written."""
    before = snapshot(ledger)
    states = present_stacks(ledger, record)
    assert snapshot(ledger) == before
    return [(state.origin, state.stack, state.job) for state in states]


def test_a_stack_that_was_built_is_the_present_one_from_done_until_the_file_says_so(ledger: Ledger) -> None:
    assert now(ledger, listed(D, D)) == []
    reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
    assert now(ledger, listed(D, D)) == []
    done(ledger, "ines")
    assert now(ledger, listed(D, D)) == [("built", (D, A), "ines")]
    assert now(ledger, listed(D, A)) == []


def test_undo_of_the_build_brings_the_old_stack_back_as_the_present_one(ledger: Ledger) -> None:
    reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
    done(ledger, "ines")
    undo(ledger)
    assert now(ledger, listed(D, D)) == []
    assert now(ledger, listed(D, A)) == [("put back", (D, D), "ines")]


def test_a_stack_that_the_ledger_never_knew_is_what_the_damper_came_in_with(ledger: Ledger) -> None:
    reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
    done(ledger, "ines")
    assert now(ledger, listed(C, D)) == []


def test_only_this_riders_damper_and_only_stacks_that_its_file_names_are_looked_at(ledger: Ledger) -> None:
    reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
    done(ledger, "ines")
    assert now(ledger, listed(D, D, rider="Tobias")) == []
    assert now(ledger, listed(D, D, stack_name="rebound stack")) == []


def test_a_damper_that_came_in_as_found_is_as_it_came_in(ledger: Ledger) -> None:
    reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
    done(ledger, "ines")
    record_job(ledger, listed(D, D), as_found=True)
    assert now(ledger, listed(D, D)) == []
    assert now(ledger, listed(D, A)) == [("as found", (D, D), None)]


def test_the_sentence_says_how_when_and_for_which_job(ledger: Ledger) -> None:
    reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
    done(ledger, "ines")
    (built,) = present_stacks(ledger, listed(D, D))
    assert how_it_came(built) == f"built on {built.at[:10]} for job 'ines'"
    undo(ledger)
    (back,) = present_stacks(ledger, listed(D, A))
    assert how_it_came(back) == f"put back on {back.at[:10]}"


@pytest.fixture
def sheet(ledger: Ledger, tmp_path: Path) -> Path:
    """A build is reserved for ines, with its sheet written."""
    numbers = new_job(ledger, "ines")
    reserve(ledger, planned(numbers, taken={A: 1}), write_sheet=lambda: "<p>ines</p>")
    place = tmp_path / "ines.html"
    place.write_text("<p>ines</p>", encoding="utf-8")
    return place


def test_the_sheet_of_a_build_is_not_written_over_wherever_it_lies(ledger: Ledger, sheet: Path) -> None:
    before = snapshot(ledger)
    assert place_for_sheet(ledger, sheet) == sheet.with_name("ines-2.html")
    done(ledger, "ines")
    assert place_for_sheet(ledger, sheet) == sheet.with_name("ines-2.html")
    assert before != snapshot(ledger)
    sheet.with_name("ines-2.html").write_text("<p>a plan</p>", encoding="utf-8")
    assert place_for_sheet(ledger, sheet) == sheet.with_name("ines-2.html")
    sheet.with_name("ines-2.html").write_text("<p>ines</p>", encoding="utf-8")
    assert place_for_sheet(ledger, sheet) == sheet.with_name("ines-3.html")


def test_a_sheet_with_notes_on_it_is_kept_for_a_job_that_has_a_build(ledger: Ledger, sheet: Path) -> None:
    """The text is no longer what the ledger stored; it is the shop's record all the same."""
    sheet.write_text("<p>ines</p> rode well", encoding="utf-8")
    assert place_for_sheet(ledger, sheet) == sheet
    assert place_for_sheet(ledger, sheet, job="ines") == sheet.with_name("ines-2.html")
    assert place_for_sheet(ledger, sheet, job="tobias") == sheet


def test_the_sheet_of_what_was_given_back_or_undone_may_go(ledger: Ledger, sheet: Path) -> None:
    release(ledger, "ines")
    assert place_for_sheet(ledger, sheet, job="ines") == sheet


def test_other_files_and_places_without_a_file_are_free(ledger: Ledger, sheet: Path) -> None:
    reserved_job(ledger, "tobias", taken={B: 1}, rider="Tobias")
    empty, drawing = sheet.with_name("empty.html"), sheet.with_name("drawing.html")
    empty.write_text("", encoding="utf-8")
    drawing.write_bytes(b"\xff\xfe\x00")
    for place in (empty, drawing, sheet.with_name("none.html"), sheet.parent):
        assert place_for_sheet(ledger, place) == place
