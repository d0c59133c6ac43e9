"""Where each type is, and what to reorder."""

from pathlib import Path

from optimiser.ledger.builds import done, reserve
from optimiser.ledger.connection import Ledger
from optimiser.ledger.shelf_changes import import_shelf
from optimiser.ledger.undo import undo
from optimiser.ledger.usage import reorder, where_used
from tests.helpers.ledger_shop import START, A, B, C, D, new_shop, planned, reserved_job, shelf_of

LONG_AGO = "2000-01-01T00:00:00+00:00"


def test_a_type_is_found_in_dampers_as_they_are_now_and_in_promises(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        numbers = reserved_job(ledger, "ines", taken={A: 2}, returned={D: 1})
        assert [(p.count, p.how, p.where) for p in where_used(ledger, A)] == [(2, "reserved", "ines")]
        done(ledger, "ines")
        assert [(p.count, p.how) for p in where_used(ledger, A)] == [(2, "fitted")]
        reserve(ledger, planned(numbers, taken={B: 1}, returned={A: 1}, before=(D, A, A)))
        assert [(p.key, p.count, p.how, p.where) for p in where_used(ledger)] == [
            (D, 1, "fitted", "Oxlip 140, Tarn of ines, compression stack"),
            (B, 1, "reserved", "ines"),
            (A, 2, "fitted", "Oxlip 140, Tarn of ines, compression stack"),
        ]


def test_what_recent_jobs_used_and_the_shelf_no_longer_holds_is_reordered(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        reserved_job(ledger, "ines", taken={A: 3, B: 1})
        done(ledger, "ines")
        reserved_job(ledger, "jonas", taken={C: 1})
        done(ledger, "jonas")
        assert [(r.level.key, r.used, r.jobs, r.buy) for r in reorder(ledger, since=LONG_AGO)] == [
            (A, 3, 1, 2),
            (C, 1, 1, 1),
        ]
        undo(ledger)
        assert [r.level.key for r in reorder(ledger, since=LONG_AGO)] == [A]
        assert reorder(ledger, since="2999-01-01") == ()


def test_a_low_type_is_reordered_to_above_its_mark_even_if_no_job_used_it(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        import_shelf(ledger, shelf_of({B: 2}, low_at=4), reason="shelf.csv")
        assert [(r.level.key, r.used, r.buy) for r in reorder(ledger, since=LONG_AGO)] == [(B, 0, 3)]


def test_the_period_is_counted_by_the_ledgers_clock(tmp_path: Path) -> None:
    new_shop(tmp_path, START)
    with Ledger.open(tmp_path, clock=lambda: "2026-01-15T10:00:00+00:00") as ledger:
        reserved_job(ledger, "ines", taken={A: 3})
        done(ledger, "ines")
        assert len(reorder(ledger, since="2026-01-15T00:00:00+00:00")) == 1
        assert reorder(ledger, since="2026-01-16T00:00:00+00:00") == ()
