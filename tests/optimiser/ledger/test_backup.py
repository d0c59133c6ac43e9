"""A backup is taken while benches work, and opens as a ledger of its own."""

import shutil
import threading
from pathlib import Path

import pytest

from optimiser.ledger.backup import backup
from optimiser.ledger.check import examine
from optimiser.ledger.connection import FILE_NAME, Ledger
from optimiser.ledger.errors import RefusedError
from optimiser.ledger.shelf_changes import receive
from tests.helpers.ledger_shop import A, counts, reserved_job, snapshot


def restored(copy: Path, folder: Path) -> Ledger:
    folder.mkdir()
    shutil.copy(copy, folder / FILE_NAME)
    return Ledger.open(folder)


def test_a_backup_put_in_the_ledgers_place_holds_the_same_and_can_be_worked_with(
    shop: Path, tmp_path: Path
) -> None:
    with Ledger.open(shop) as ledger:
        reserved_job(ledger, "ines", taken={A: 1})
        size = backup(ledger, tmp_path / "copy")
        before = snapshot(ledger)
    assert size == (tmp_path / "copy").stat().st_size
    with restored(tmp_path / "copy", tmp_path / "again") as ledger:
        assert examine(ledger) == ()
        assert snapshot(ledger) == before
        receive(ledger, A, 1, reason="invoice")
    assert {path.name for path in tmp_path.iterdir()} == {FILE_NAME, f"{FILE_NAME}.sum", "copy", "again"}


def test_a_backup_never_overwrites_and_needs_a_folder(shop: Path, tmp_path: Path) -> None:
    (tmp_path / "copy").write_text("the only photo of my cat")
    with Ledger.open(shop) as ledger:
        with pytest.raises(RefusedError, match="exists already; a backup never overwrites one"):
            backup(ledger, tmp_path / "copy")
        with pytest.raises(RefusedError, match="is not there"):
            backup(ledger, tmp_path / "no" / "copy")
    assert (tmp_path / "copy").read_text() == "the only photo of my cat"


def test_twenty_backups_taken_while_another_bench_receives_shims_are_each_one_moment(
    shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stop = threading.Event()
    received = []

    def other_bench() -> None:
        with Ledger.open(shop) as ledger:
            while not stop.is_set():
                received.append(receive(ledger, A, 1, reason="invoice"))

    bench = threading.Thread(target=other_bench)
    bench.start()
    found = []
    try:
        with Ledger.open(shop) as ledger:
            for number in range(20):
                low = counts(ledger)[A][0]
                backup(ledger, tmp_path / f"copy {number}")
                found.append((low, tmp_path / f"copy {number}", counts(ledger)[A][0]))
    finally:
        stop.set()
        bench.join()
    for number, (low, copy, high) in enumerate(found):
        with restored(copy, tmp_path / f"again {number}") as ledger:
            assert examine(ledger) == ()
            assert low <= counts(ledger)[A][0] <= high
    with capsys.disabled():
        print(f"\nbackups while in use: {len(found)}, movements written meanwhile: {len(received)}")  # noqa: T201
    assert received
