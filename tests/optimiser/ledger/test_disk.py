"""A full disk or a folder that may not be written: a clear word, and the file as it was."""

import contextlib
import os
import resource
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from optimiser.files.shelf import read_shelf
from optimiser.ledger.backup import backup
from optimiser.ledger.builds import done, release
from optimiser.ledger.check import examine
from optimiser.ledger.connection import FILE_NAME, Ledger
from optimiser.ledger.errors import UnwritableLedgerError
from optimiser.ledger.levels import shelf_levels
from optimiser.ledger.shelf_changes import import_shelf, receive
from optimiser.model.stock import ShimKey
from tests.helpers.ledger_shop import A, D, new_shop, reserved_job, shelf_of, snapshot
from tests.helpers.paths import STIFF_SHOP

SHELF = STIFF_SHOP / "shelf.csv"
MANY = shelf_of({ShimKey(10_000 + 10 * n, 100, 8000): 1 for n in range(2000)})
NOBODY = 65534


@contextlib.contextmanager
def largest_file(size: int) -> Iterator[None]:
    """Let no file grow beyond a size; the nearest thing to a full disk that every machine has. [bytes]"""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@contextlib.contextmanager
def disk_of(size: int) -> Iterator[Path]:
    """Mount a disk in memory of a given size, where the machine allows it. [bytes]"""
    with tempfile.TemporaryDirectory() as folder:
        made = subprocess.run(
            ["mount", "-t", "tmpfs", "-o", f"size={size}", "none", folder], capture_output=True, check=False
        )
        if made.returncode != 0:
            pytest.skip("no right to mount a small disk here")
        try:
            yield Path(folder)
        finally:
            subprocess.run(["umount", "-l", folder], check=True)


def as_before(folder: Path, before: tuple[object, ...]) -> None:
    with Ledger.open(folder) as ledger:
        assert examine(ledger) == ()
        assert snapshot(ledger) == before


@pytest.mark.parametrize("room", [0, 4096, 40_000, 90_000])
def test_a_file_that_cannot_grow_keeps_the_ledger_as_it_was(shop: Path, room: int) -> None:
    with Ledger.open(shop) as ledger:
        before = snapshot(ledger)
        with largest_file(room), pytest.raises(UnwritableLedgerError, match="Nothing was changed"):
            import_shelf(ledger, MANY, reason="too much")
        assert snapshot(ledger) == before
    as_before(shop, before)


def test_every_step_on_a_full_disk_is_refused_in_words_and_changes_nothing(
    capsys: pytest.CaptureFixture[str],
) -> None:
    refused = kept = 0
    with disk_of(1_000_000) as folder:
        new_shop(folder)
        with Ledger.open(folder) as ledger:
            reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
            before = snapshot(ledger)
        for room in (0, 4096, 8192, 16_384, 32_768, 65_536, 98_304, 131_072):
            for step in (
                lambda ledger: import_shelf(ledger, MANY, reason="too much"),
                lambda ledger: import_shelf(ledger, read_shelf(SHELF), reason="shelf.csv"),
                lambda ledger: done(ledger, "ines"),
                lambda ledger: release(ledger, "ines"),
                lambda ledger: backup(ledger, folder / "copy.ledger"),
            ):
                fill(folder, leave=room)
                try:
                    with Ledger.open(folder) as ledger:
                        step(ledger)
                    happened = True
                except UnwritableLedgerError:
                    happened = False
                (folder / "filling").unlink()
                assert not (folder / ".copy.ledger.part").exists()
                if happened:
                    kept += 1
                    take_back(folder)
                else:
                    refused += 1
                    assert not (folder / "copy.ledger").exists()
                with Ledger.open(folder) as ledger:
                    assert examine(ledger) == ()
                    assert snapshot(ledger)[0] == before[0]
                    assert snapshot(ledger)[1] == before[1]
    with capsys.disabled():
        print(f"\nsteps on a full disk: {refused} refused and wholly undone, {kept} fitted")  # noqa: T201
    assert refused > 20


def fill(folder: Path, *, leave: int) -> None:
    """Fill the disk up to some room. [bytes]"""
    disk = os.statvfs(folder)
    size = disk.f_bavail * disk.f_frsize - leave
    with (folder / "filling").open("wb") as file:
        file.write(b"x" * max(size, 0))


def take_back(folder: Path) -> None:
    from optimiser.ledger.undo import past_operations, undo

    copy = folder / "copy.ledger"
    if copy.exists():
        copy.unlink()
        return
    with Ledger.open(folder) as ledger:
        assert past_operations(ledger, most=1)[0].kind != "undo"
        undo(ledger)


@contextlib.contextmanager
def folder_that_may_not_be_written() -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        new_shop(folder)
        (folder / FILE_NAME).chmod(0o444)
        folder.chmod(0o555)
        try:
            yield folder
        finally:
            folder.chmod(0o755)


@contextlib.contextmanager
def without_special_rights() -> Iterator[None]:
    """Work as a user whom the folder's rights bind."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


def test_a_read_only_folder_is_said_so_and_the_file_is_unharmed() -> None:
    with folder_that_may_not_be_written() as folder:
        before = (folder / FILE_NAME).read_bytes()
        with without_special_rights(), pytest.raises(UnwritableLedgerError, match="may not be written"):
            change_it(folder)
        assert (folder / FILE_NAME).read_bytes() == before


def change_it(folder: Path) -> None:
    with Ledger.open(folder) as ledger:
        receive(ledger, A, 1, reason="invoice")


def test_a_backup_into_a_read_only_folder_is_refused(shop: Path) -> None:
    with folder_that_may_not_be_written() as folder, Ledger.open(shop) as ledger:
        with without_special_rights(), pytest.raises(UnwritableLedgerError, match="may not be written"):
            backup(ledger, folder / "copy.ledger")
        assert shelf_levels(ledger)
