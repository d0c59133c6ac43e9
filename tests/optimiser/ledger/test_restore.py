"""Back to a backup after a crash: what the backup held, nothing of the log, and the old ledger set aside."""

import shutil
import stat
from pathlib import Path

import pytest

from optimiser.ledger.backup import backup
from optimiser.ledger.check import examine, examine_shop
from optimiser.ledger.connection import FILE_NAME, Ledger
from optimiser.ledger.errors import BusyLedgerError, DamagedLedgerError, RefusedError
from optimiser.ledger.restore import restore
from optimiser.ledger.shelf_changes import receive
from tests.helpers.ledger_shop import A, counts, crashed, everything, files_of, new_shop, snapshot
from tests.optimiser.ledger.test_disk import largest_file


@pytest.fixture
def after_a_crash(tmp_path: Path) -> Path:
    """Give a shop whose last three steps stand in the log alone, with the backup from before them."""
    work = tmp_path / "at work"
    work.mkdir()
    new_shop(work)
    with Ledger.open(work) as ledger:
        backup(ledger, work / "monday")
        for _ in range(3):
            receive(ledger, A, 1, reason="after the backup")
        crashed(work, tmp_path / "shop")
    assert (tmp_path / "shop" / f"{FILE_NAME}-wal").stat().st_size > 0
    return tmp_path / "shop"


def test_a_restored_ledger_holds_the_backup_and_nothing_of_the_old_log(after_a_crash: Path) -> None:
    shop = after_a_crash
    expected = everything(shop / "monday")
    restored = restore(shop, shop / "monday")
    assert everything(shop / FILE_NAME) == expected
    assert examine_shop(shop) == ()
    assert restored.last_step is not None
    assert restored.last_step[0] == 1
    with Ledger.open(shop) as ledger:
        assert counts(ledger)[A] == (4, 0)
        receive(ledger, A, 1, reason="goes on")


def test_the_ledger_from_before_is_aside_with_the_steps_of_its_log(
    after_a_crash: Path, tmp_path: Path
) -> None:
    shop = after_a_crash
    aside = restore(shop, shop / "monday").aside
    assert aside is not None
    again = tmp_path / "again"
    again.mkdir()
    shutil.copy(aside, again / FILE_NAME)
    with Ledger.open(again) as ledger:
        assert counts(ledger)[A] == (7, 0)
        assert examine(ledger) == ()
    assert {path.name for path in shop.iterdir()} == {FILE_NAME, "monday", aside.name}


@pytest.mark.parametrize("harm", ["empty", "no database", "cut off", "overwritten"])
def test_a_harmed_ledger_and_its_log_are_set_aside_as_they_are(after_a_crash: Path, harm: str) -> None:
    shop = after_a_crash
    path, log = shop / FILE_NAME, shop / f"{FILE_NAME}-wal"
    whole = path.read_bytes()
    bytes_left = {"empty": b"", "no database": b"x" * 9000, "cut off": whole[:5000]}
    path.write_bytes(bytes_left.get(harm, whole[:100] + b"\xa5" * 20_000 + whole[20_100:]))
    log.write_bytes(log.read_bytes()[:3000] + b"\xa5" * 50)
    expected = everything(shop / "monday")
    aside = restore(shop, shop / "monday").aside
    assert aside is not None
    assert aside.exists()
    assert everything(shop / FILE_NAME) == expected
    assert examine_shop(shop) == ()


def test_a_lost_ledger_is_restored_beside_the_log_that_it_left(after_a_crash: Path) -> None:
    shop = after_a_crash
    (shop / FILE_NAME).unlink()
    expected = everything(shop / "monday")
    with pytest.raises(
        DamagedLedgerError, match=r"the log of a ledger that is not there\. Nothing was changed"
    ):
        Ledger.open(shop, create=True)
    assert restore(shop, shop / "monday").aside is None
    assert everything(shop / FILE_NAME) == expected


def test_a_damaged_backup_is_refused_and_no_file_is_touched(after_a_crash: Path) -> None:
    shop = after_a_crash
    harmed = bytearray((shop / "monday").read_bytes())
    place = harmed.index(b"first count")
    harmed[place : place + 5] = b"FIRST"
    (shop / "monday").write_bytes(harmed)
    before = files_of(shop)
    with pytest.raises(DamagedLedgerError, match=r"this backup is damaged itself.*Nothing was changed"):
        restore(shop, shop / "monday")
    (shop / "notes").write_text("the only photo of my cat" * 9)
    with pytest.raises(DamagedLedgerError, match="does not begin as a ledger does"):
        restore(shop, shop / "notes")
    with pytest.raises(RefusedError, match="no such file"):
        restore(shop, shop / "tuesday")
    with pytest.raises(RefusedError, match="is the ledger itself"):
        restore(shop, shop / FILE_NAME)
    (shop / "notes").unlink()
    assert files_of(shop) == before


def test_a_ledger_that_is_open_elsewhere_is_not_replaced(shop: Path, tmp_path: Path) -> None:
    with Ledger.open(shop) as bench:
        backup(bench, tmp_path / "monday")
        receive(bench, A, 1, reason="after the backup")
        before = snapshot(bench)
        with pytest.raises(
            BusyLedgerError, match=r"another shimwright has the ledger open\. Nothing was changed"
        ):
            restore(shop, tmp_path / "monday")
        assert snapshot(bench) == before
        receive(bench, A, 1, reason="goes on")
    with Ledger.open(shop) as bench:
        assert counts(bench)[A] == (6, 0)


def test_a_bench_whose_ledger_was_replaced_writes_no_more(shop: Path, tmp_path: Path) -> None:
    with Ledger.open(shop) as bench:
        backup(bench, tmp_path / "monday")
        (tmp_path / "monday").replace(shop / FILE_NAME)
        with pytest.raises(BusyLedgerError, match="was put in its place while this one was open"):
            receive(bench, A, 1, reason="lost otherwise")


def test_no_room_for_the_copy_leaves_everything_as_it_was(after_a_crash: Path) -> None:
    shop = after_a_crash
    before = files_of(shop)
    with largest_file(8192), pytest.raises(Exception, match="The ledger holds what it held"):
        restore(shop, shop / "monday")
    assert files_of(shop) == before


def test_a_restored_ledger_keeps_the_rights_of_the_one_before(shop: Path, tmp_path: Path) -> None:
    with Ledger.open(shop) as ledger:
        backup(ledger, tmp_path / "monday")
    (shop / FILE_NAME).chmod(0o600)
    (tmp_path / "monday").chmod(0o644)
    restore(shop, tmp_path / "monday")
    assert stat.S_IMODE((shop / FILE_NAME).stat().st_mode) == 0o600
