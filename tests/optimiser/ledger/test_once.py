"""A step given again under its id is done once; without an id, a second one that is the same is told."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import RefusedError
from optimiser.ledger.jobs import record_outcome
from optimiser.ledger.once import Kept, once
from optimiser.ledger.people import erase_person
from optimiser.ledger.shelf_changes import receive, scrap
from optimiser.ledger.undo import same_before, undo_step
from tests.helpers.ledger_shop import A, everything, new_job

STEPS: dict[str, tuple[Kept, Callable[[Ledger], int]]] = {
    "receive": ("operation", lambda ledger: receive(ledger, A, 2, reason="invoice")),
    "scrap": ("operation", lambda ledger: scrap(ledger, A, 1, reason="bent")),
    "outcome": ("outcome", lambda ledger: record_outcome(ledger, "ines", "better")),
    "undo": ("operation", undo_step),
}


@pytest.mark.parametrize("name", STEPS)
def test_a_step_with_an_id_is_done_once_however_often_it_is_given(shop: Path, name: str) -> None:
    kept, step = STEPS[name]
    with Ledger.open(shop) as ledger:
        new_job(ledger, "ines")
        receive(ledger, A, 1, reason="before")
        first = once(ledger, "mine", (name,), kept, lambda: step(ledger))
        after = everything(ledger.path)
        again = once(ledger, "mine", (name,), kept, lambda: step(ledger))
        assert everything(ledger.path) == after
        assert (first.before, again.number) == (None, first.number)
        assert again.before is not None
        assert once(ledger, "another", (name,), kept, lambda: step(ledger)).number > first.number


def test_an_id_that_was_used_for_something_else_is_refused(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        once(ledger, "mine", ("receive", 1), "operation", lambda: receive(ledger, A, 1, reason="invoice"))
        before = everything(ledger.path)
        with pytest.raises(RefusedError, match=r"the id 'mine' was used at .* Nothing was changed"):
            once(ledger, "mine", ("receive", 2), "operation", lambda: receive(ledger, A, 2, reason="invoice"))
        for bad in ("", " mine", "m" * 101):
            with pytest.raises(RefusedError, match="expected an id of 1 to 100 characters"):
                once(
                    ledger, bad, ("receive", 1), "operation", lambda: receive(ledger, A, 1, reason="invoice")
                )
        assert everything(ledger.path) == before


def test_a_step_that_is_refused_leaves_its_id_free(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        with pytest.raises(Exception, match="4 free on the shelf"):
            once(ledger, "mine", ("scrap",), "operation", lambda: scrap(ledger, A, 9, reason="bent"))
        assert (
            once(ledger, "mine", ("scrap",), "operation", lambda: scrap(ledger, A, 1, reason="bent")).before
            is None
        )


def test_the_same_step_a_moment_before_is_found_and_another_is_not(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        first = receive(ledger, A, 2, reason="invoice")
        assert same_before(ledger, first) is None
        second = receive(ledger, A, 2, reason="invoice")
        found = same_before(ledger, second)
        assert found is not None
        assert found.number == first
        assert same_before(ledger, receive(ledger, A, 3, reason="invoice")) is None
        assert same_before(ledger, receive(ledger, A, 3, reason="invoice 2")) is None


def test_the_same_step_a_day_later_is_another_delivery(shop: Path) -> None:
    moments = {
        "2027-01-01T09:00:00+00:00": False,
        "2027-01-02T09:00:00+00:00": False,
        "2027-01-02T09:09:00+00:00": True,
    }
    for moment, found in moments.items():
        with Ledger.open(shop, clock=partial(str, moment)) as ledger:
            number = receive(ledger, A, 2, reason="invoice")
            assert (same_before(ledger, number) is not None) == found


def test_an_erased_person_is_in_no_id(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        new_job(ledger, "q", rider="Quirina")
        for number in range(2):
            once(
                ledger,
                f"for Quirina {number}",
                ("outcome", "q", "better"),
                "outcome",
                lambda: record_outcome(ledger, "q", "better"),
            )
        erase_person(ledger, "Quirina")
        found = everything(ledger.path)["once"]
    assert [row[2] for row in found] == ["(erased)", "(erased)"]
    assert "Quirina" not in str(found)
