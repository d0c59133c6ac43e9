"""The check finds what a bug or a hex editor could break, and says what mends it."""

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from optimiser.ledger.builds import done
from optimiser.ledger.check import examine
from optimiser.ledger.connection import FILE_NAME, Ledger
from optimiser.ledger.errors import DamagedLedgerError
from optimiser.ledger.faults import RULES
from optimiser.ledger.undo import undo
from tests.helpers.ledger_shop import A, D, reserved_job, reserved_pair

BREAKAGES = {
    RULES[0].says: "UPDATE movement SET shelf = shelf - 3 WHERE shim_id = 1 AND kind = 'counted'",
    RULES[1].says: "UPDATE build_line SET count = count + 1 WHERE build_id = 2 AND way = 'take'",
    RULES[2].says: "UPDATE build SET state = 'released' WHERE id = 1",
    RULES[3].says: "UPDATE build_line SET count = count + 1 WHERE build_id = 1",
    RULES[4].says: "UPDATE movement SET shelf = shelf + 1 WHERE kind = 'undone' AND reserved = 0",
    RULES[
        5
    ].says: "UPDATE damper_state SET stack = '[[20000,100,8000]]' WHERE origin = 'built' AND damper_id = 1",
    RULES[6].says: "DELETE FROM damper_state WHERE origin = 'built' AND damper_id = 1",
    RULES[7].says: "UPDATE plan SET job_id = 2 WHERE id = 1",
    RULES[8].says: "UPDATE build_stack SET stack = '[[20000,100,8000]]'",
    RULES[9].says: "DELETE FROM damper_state WHERE origin = 'built' AND stack_name = 'rebound stack'",
    RULES[10].says: "UPDATE damper_part SET operation_id = 6 WHERE origin = 'built'",
}


@pytest.fixture
def busy_shop(shop: Path) -> Path:
    """One build done, one reserved, one done and taken back, one of two stacks and another oil done."""
    with Ledger.open(shop) as ledger:
        reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
        done(ledger, "ines")
        reserved_job(ledger, "jonas", taken={A: 1})
        reserved_job(ledger, "maren", taken={A: 1}, returned={D: 1})
        done(ledger, "maren")
        undo(ledger)
        reserved_pair(ledger, "tobias")
        done(ledger, "tobias")
        assert examine(ledger) == ()
    return shop


@contextlib.contextmanager
def unguarded(shop: Path) -> Iterator[sqlite3.Connection]:
    """Write past every guard, as a bug or a hex editor would; the guards themselves are put back."""
    connection = sqlite3.connect(shop / FILE_NAME)
    with contextlib.closing(connection), connection:
        guards = connection.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("PRAGMA ignore_check_constraints = ON")
        yield connection
        for _, sql in guards:
            connection.execute(sql)


def test_every_rule_has_a_way_to_break_it_here() -> None:
    assert set(BREAKAGES) == {rule.says for rule in RULES}


@pytest.mark.parametrize("rule", BREAKAGES)
def test_each_broken_rule_is_found_and_mended_in_words(busy_shop: Path, rule: str) -> None:
    with unguarded(busy_shop) as connection:
        assert connection.execute(BREAKAGES[rule]).rowcount > 0
    with Ledger.open(busy_shop) as ledger:
        findings = examine(ledger)
    assert any(finding.what.startswith(rule) for finding in findings), findings
    assert all(finding.mend for finding in findings)


def test_a_row_that_points_nowhere_is_found(busy_shop: Path) -> None:
    with unguarded(busy_shop) as connection:
        connection.execute("INSERT INTO outcome (job_id, at, words) VALUES (99, 'now', 'lost')")
    with Ledger.open(busy_shop) as ledger:
        assert [finding.what for finding in examine(ledger)] == [
            "table outcome, row 1: points at a job that is not there",
            "table outcome: holds something else than shimwright wrote",
        ]


def test_a_guard_that_was_removed_is_found(busy_shop: Path) -> None:
    connection = sqlite3.connect(busy_shop / FILE_NAME)
    with contextlib.closing(connection), connection:
        connection.execute("DROP TRIGGER stock_never_negative")
    with Ledger.open(busy_shop) as ledger:
        assert [finding.what for finding in examine(ledger)] == [
            "the file's 'stock_never_negative' is not as shimwright made it"
        ]


def test_overwritten_pages_are_found_or_refused(busy_shop: Path) -> None:
    path = busy_shop / FILE_NAME
    data = bytearray(path.read_bytes())
    for page in range(1, len(data) // 4096):
        harmed = data.copy()
        harmed[page * 4096 : page * 4096 + 64] = b"\xa5" * 64
        path.write_bytes(harmed)
        try:
            with Ledger.open(busy_shop) as ledger:
                assert examine(ledger), f"page {page} is overwritten, and the check is content"
        except DamagedLedgerError:
            continue


def test_the_guards_refuse_to_edit_or_delete_the_past(busy_shop: Path) -> None:
    connection = sqlite3.connect(busy_shop / FILE_NAME)
    with contextlib.closing(connection), connection:
        for change in (
            "UPDATE movement SET shelf = 0",
            "DELETE FROM movement",
            "UPDATE operation SET at = 'never'",
            "DELETE FROM operation",
            "INSERT INTO movement (operation_id, shim_id, kind, shelf, reserved) VALUES (1, 1, 'scrapped', -99, 0)",
        ):
            with pytest.raises(sqlite3.IntegrityError):
                connection.execute(change)
