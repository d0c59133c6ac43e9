"""A person can be taken out whole or made nameless; the sums stay right."""

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from optimiser.ledger.builds import done, release
from optimiser.ledger.check import examine
from optimiser.ledger.connection import FILE_NAME, Ledger
from optimiser.ledger.errors import RefusedError
from optimiser.ledger.jobs import record_outcome
from optimiser.ledger.people import erase_person, export_person
from optimiser.ledger.shelf_changes import import_shelf, receive
from optimiser.ledger.undo import undo
from tests.helpers.ledger_shop import A, B, D, counts, new_job, reserved_job, shelf_of


@pytest.fixture
def ledger(shop: Path) -> Iterator[Ledger]:
    """Give a shop that has worked for Quirina and for Jonas."""
    with Ledger.open(shop) as opened:
        reserved_job(opened, "quirina_fork", taken={A: 1}, returned={D: 1}, rider="Quirina")
        done(opened, "quirina_fork")
        record_outcome(opened, "quirina_fork", "Quirina says it stands up now")
        reserved_job(opened, "jonas", taken={B: 1}, rider="Jonas")
        receive(opened, A, 2, reason="ordered for Quirina, paid")
        import_shelf(opened, shelf_of({A: 5}, drawer="A1", label="keep for quirina"), reason="shelf.csv")
        yield opened


def test_an_export_holds_everything_of_one_person_and_nothing_of_another(ledger: Ledger) -> None:
    document = export_person(ledger, "Quirina")
    text = json.dumps(document)
    assert document["name"] == "Quirina"
    assert document["mass_kg"] == 74.0
    assert [job["name"] for job in document["jobs"]] == ["quirina_fork"]
    assert [state["origin"] for state in document["stacks"]] == ["as found", "built"]
    assert [step["kind"] for step in document["operations"]] == ["build", "done"]
    assert {(line["way"], line["count"]) for line in document["build_lines"]} == {("take", 1), ("give", 1)}
    assert document["outcomes"][0]["words"] == "Quirina says it stands up now"
    assert "onas" not in text


def test_an_erased_person_is_nowhere_in_the_file_and_the_sums_are_as_before(
    ledger: Ledger, shop: Path
) -> None:
    before = counts(ledger)
    erasure = erase_person(ledger, "Quirina")
    assert (erasure.jobs, erasure.dampers, erasure.mentions) == (1, 1, 2)
    assert counts(ledger) == before
    assert examine(ledger) == ()
    left = b"".join(path.read_bytes() for path in shop.iterdir())
    assert not re.search(rb"quirina", left, re.IGNORECASE)
    assert re.search(rb"jonas", left, re.IGNORECASE)
    with pytest.raises(RefusedError, match="not in the ledger; the latest are 'Jonas'"):
        export_person(ledger, "Quirina")


def test_the_others_go_on_and_an_erased_step_can_still_be_taken_back(ledger: Ledger) -> None:
    erase_person(ledger, "Quirina")
    release(ledger, "jonas")
    for _ in range(6):
        undo(ledger)
    assert counts(ledger)[A] == (4, 0)
    assert examine(ledger) == ()


def test_a_person_may_come_back_as_new(ledger: Ledger) -> None:
    erase_person(ledger, "Quirina")
    new_job(ledger, "quirina_fork", rider="Quirina")
    assert export_person(ledger, "Quirina")["operations"] == []


def test_a_person_with_shims_reserved_is_not_erased(ledger: Ledger, shop: Path) -> None:
    with pytest.raises(RefusedError, match="job 'jonas' has shims reserved"):
        erase_person(ledger, "Jonas")
    assert b"Jonas" in (shop / FILE_NAME).read_bytes() + (shop / f"{FILE_NAME}-wal").read_bytes()


def test_only_the_name_as_a_word_is_taken_out_of_notes(ledger: Ledger) -> None:
    new_job(ledger, "al", rider="Al")
    receive(ledger, B, 1, reason="metal for Al")
    erase_person(ledger, "Al")
    with ledger.reading() as connection:
        reasons = [row[0] for row in connection.execute("SELECT reason FROM operation")]
    assert "metal for (erased)" in reasons
