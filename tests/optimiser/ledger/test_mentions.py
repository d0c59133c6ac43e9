"""A name in the records of others is listed, taken out on demand, and never said to be gone while it stands."""

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from optimiser.ledger.builds import done, reserve
from optimiser.ledger.check import examine
from optimiser.ledger.connection import Ledger
from optimiser.ledger.fault_words import UNCHANGED
from optimiser.ledger.jobs import JobRecord, record_job, record_outcome
from optimiser.ledger.mentions import mentions, redact
from optimiser.ledger.people import erase_person, mentioned_elsewhere
from optimiser.ledger.shelf_changes import receive
from tests.helpers.ledger_shop import STACK, A, B, D, counts, everything, planned, reserved_job

NAME = "Quirina O'Shea"
OTHERS = {
    ("job ride-with-quirina", "title"),
    ("job ride-with-quirina", "words"),
    ("rider Jonas", "words"),
    ("job ride-with-quirina", "outcome of the ride"),
    ("job ride-with-quirina", "plan"),
    ("job ride-with-quirina", "sheet of a build"),
}
NAMES = {("machine Quirina O'Shea's Oxlip", "name"), ("damper lent by quirina o'shea", "name")}


@pytest.fixture
def ledger(shop: Path) -> Iterator[Ledger]:
    """Give a shop that worked for Quirina, whose name stands all over the records of Jonas."""
    with Ledger.open(shop) as opened:
        reserved_job(opened, "quirina_fork", taken={A: 1}, returned={D: 1}, rider=NAME)
        done(opened, "quirina_fork")
        record = JobRecord(
            name="ride-with-quirina",
            title=f"As soft as {NAME}'s",
            words=f"{NAME} rode it and liked it",
            rider="Jonas",
            machine=f"{NAME}'s Oxlip",
            damper=f"lent by {NAME.lower()}",
            stacks={STACK: (D, D)},
        )
        numbers = record_job(opened, record)
        plan = planned(numbers, taken={B: 1})
        document = {"job": f"for {NAME}", NAME: 1, "candidates": [{"steps": [f"ask {NAME}"], "rank": 1}]}
        object.__setattr__(plan, "plan_json", json.dumps(document))
        reserve(opened, plan, write_sheet=lambda: "<h1>Quirina O&#39;Shea</h1><p>and Quirinale</p>")
        record_outcome(opened, "ride-with-quirina", f"better, says {NAME}")
        receive(opened, A, 1, reason=f"ordered for {NAME}")
        yield opened


def places(found: object) -> set[tuple[str, str]]:
    return {(mention.where, mention.what) for mention in found}  # type: ignore[attr-defined]


def test_an_erasure_lists_where_the_name_stands_in_the_records_of_others(ledger: Ledger) -> None:
    before = everything(ledger.path)
    assert places(mentioned_elsewhere(ledger, NAME)) == OTHERS | NAMES
    assert everything(ledger.path) == before, "asking changed something"
    erasure = erase_person(ledger, NAME)
    assert places(erasure.left) == OTHERS | NAMES
    assert {(m.where, m.what) for m in erasure.left if m.stays} == NAMES
    assert places(mentions(ledger, NAME)) == OTHERS | NAMES
    assert examine(ledger) == ()


def test_an_erasure_everywhere_leaves_the_name_in_names_alone_and_says_so(ledger: Ledger) -> None:
    before = counts(ledger)
    erasure = erase_person(ledger, NAME, everywhere=True)
    assert places(erasure.left) == NAMES
    assert erasure.mentions == len(OTHERS) + 1
    text = str({**everything(ledger.path), "machine": [], "damper": []})
    assert "Shea" not in text
    assert "Quirinale" in text
    assert counts(ledger) == before
    assert examine(ledger) == ()


def test_a_name_is_taken_out_later_too_and_only_once(ledger: Ledger) -> None:
    erase_person(ledger, NAME)
    assert redact(ledger, NAME) == len(OTHERS)
    assert places(mentions(ledger, NAME)) == NAMES
    assert redact(ledger, NAME) == 0
    assert mentions(ledger, "Nobody") == ()


def test_a_fault_after_the_erasure_is_kept_does_not_say_that_nothing_was_changed(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sqlite3

    class Failing:
        """The connection, on a disk that fails when the log is emptied."""

        def execute(self, statement: str) -> None:
            assert "wal_checkpoint" in statement
            fault = sqlite3.OperationalError("disk I/O error")
            fault.sqlite_errorname = "SQLITE_IOERR_WRITE"
            raise fault

    whole = Ledger.unguarded

    def unguarded(self: Ledger, *, stands: str = UNCHANGED) -> object:
        found = whole(self, stands=stands)
        if stands != UNCHANGED:
            monkeypatch.setattr(self, "_connection", Failing())
        return found

    monkeypatch.setattr(Ledger, "unguarded", unguarded)
    with pytest.raises(Exception, match=r"The person is erased\. Old pages may still be in the log") as said:
        erase_person(ledger, NAME)
    assert not re.search("nothing was changed", str(said.value), re.IGNORECASE)
    assert NAME not in [row[1] for row in everything(ledger.path)["person"]]
