"""An older ledger opens after its migrations; a newer one, and what is no ledger, is left alone."""

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from optimiser.ledger import migrations
from optimiser.ledger.check import examine
from optimiser.ledger.connection import FILE_NAME, Ledger
from optimiser.ledger.errors import DamagedLedgerError, NewerLedgerError, NoLedgerError
from optimiser.ledger.migrations import applied, pending
from optimiser.ledger.schema import APPLICATION_ID, MIGRATIONS, Migration
from tests.helpers.ledger_shop import new_shop, new_shop_of_old, snapshot


@contextlib.contextmanager
def raw(folder: Path) -> Iterator[sqlite3.Connection]:
    connection = sqlite3.connect(folder / FILE_NAME)
    with contextlib.closing(connection), connection:
        yield connection


def test_migrations_are_numbered_from_one_without_gaps_and_named_once() -> None:
    assert [step.number for step in MIGRATIONS] == list(range(1, len(MIGRATIONS) + 1))
    assert len({step.name for step in MIGRATIONS}) == len(MIGRATIONS)


@pytest.mark.parametrize("had", range(1, len(MIGRATIONS)))
def test_an_older_ledger_opens_with_its_stock_after_the_migrations_it_lacks(tmp_path: Path, had: int) -> None:
    (today := tmp_path / "today").mkdir()
    new_shop(today)
    with Ledger.open(today) as ledger:
        before = snapshot(ledger)
    new_shop_of_old(tmp_path, had)
    with raw(tmp_path) as connection:
        assert [step.number for step in pending(connection)] == list(range(had + 1, len(MIGRATIONS) + 1))
    with Ledger.open(tmp_path) as ledger:
        assert snapshot(ledger) == before
        assert examine(ledger) == ()
    with raw(tmp_path) as connection:
        assert applied(connection) == {step.number: step.name for step in MIGRATIONS}


def test_a_migration_that_fails_leaves_no_trace(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    new_shop(tmp_path)
    bad = Migration(99, "broken", ("CREATE TABLE half (id INTEGER)", "CREATE TABLE half (id INTEGER)"))
    with monkeypatch.context() as patch:
        patch.setattr(migrations, "MIGRATIONS", (*MIGRATIONS, bad))
        with pytest.raises(Exception, match="half already exists"):
            Ledger.open(tmp_path)
    with raw(tmp_path) as connection:
        assert 99 not in applied(connection)
        assert connection.execute("SELECT 1 FROM sqlite_schema WHERE name = 'half'").fetchone() is None


def test_a_newer_ledger_is_refused_by_name_and_not_touched(shop: Path) -> None:
    with raw(shop) as connection:
        connection.execute("INSERT INTO migration VALUES (99, 'barcodes', '2030-01-01')")
    before = (shop / FILE_NAME).read_bytes()
    with pytest.raises(NewerLedgerError, match=r"migration 99 'barcodes'.*A later shimwright wrote it"):
        Ledger.open(shop)
    assert (shop / FILE_NAME).read_bytes() == before


def test_a_database_of_another_program_is_refused_and_not_touched(tmp_path: Path) -> None:
    with raw(tmp_path) as connection:
        connection.execute("CREATE TABLE invoices (id INTEGER)")
    before = (tmp_path / FILE_NAME).read_bytes()
    with pytest.raises(DamagedLedgerError, match="database of another program"):
        Ledger.open(tmp_path, create=True)
    assert (tmp_path / FILE_NAME).read_bytes() == before


def test_a_file_that_is_no_database_is_refused_and_not_touched(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).write_bytes(b"outer_mm,thickness_mm\n" * 100)
    with pytest.raises(DamagedLedgerError, match="put your newest backup in its place"):
        Ledger.open(tmp_path)
    assert (tmp_path / FILE_NAME).read_bytes().startswith(b"outer_mm")


def test_a_folder_without_a_ledger_says_how_to_start_one(tmp_path: Path) -> None:
    with pytest.raises(NoLedgerError, match=r"stock import shelf\.csv --write"):
        Ledger.open(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_current_ledger_is_marked_ours_and_opening_it_writes_nothing(shop: Path) -> None:
    with raw(shop) as connection:
        assert connection.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
        assert pending(connection) == ()
        assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
    before = (shop / FILE_NAME).read_bytes()
    with Ledger.open(shop) as ledger:
        snapshot(ledger)
    assert (shop / FILE_NAME).read_bytes() == before
