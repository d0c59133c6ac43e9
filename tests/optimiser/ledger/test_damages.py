"""Random damages and cuts: the check names each, writes nothing, and then nobody else does."""

import contextlib
import random
import string
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from optimiser.ledger.backup import backup
from optimiser.ledger.builds import done, reserve
from optimiser.ledger.check import examine_shop
from optimiser.ledger.closing import note_of
from optimiser.ledger.connection import FILE_NAME, Ledger
from optimiser.ledger.errors import DamagedLedgerError, LedgerError
from optimiser.ledger.jobs import record_outcome
from optimiser.ledger.migrations import applied
from optimiser.ledger.people import erase_person
from optimiser.ledger.restore import restore
from optimiser.ledger.schema import MIGRATIONS
from optimiser.ledger.shelf_changes import import_shelf, receive
from optimiser.ledger.undo import undo
from tests.helpers.counts import tries
from tests.helpers.ledger_shop import (
    A,
    B,
    D,
    crashed,
    everything,
    files_of,
    new_job,
    new_shop,
    new_shop_of_old,
    planned,
    shelf_of,
)
from tests.optimiser.ledger.test_migrations import raw

DAMAGES = tries(quick=40, thorough=120)
UNUSED = "bytes that no row uses"
Damage = Callable[[random.Random, bytes], bytes]


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """Give a shop with jobs, plans, sheets, outcomes and an undone step in its books."""
    folder, chance = tmp_path / "shop", random.Random(3)
    folder.mkdir()
    new_shop(folder, {A: 90, B: 90})
    with Ledger.open(folder) as ledger:
        for number in range(8):
            name = f"job {number}"
            build = planned(new_job(ledger, name, rider=f"Rider {number}"), taken={A: 1}, returned={D: 1})
            reserve(ledger, build, write_sheet=lambda: "".join(chance.choices(string.ascii_letters, k=9000)))
            done(ledger, name)
            record_outcome(ledger, name, "better, edges as before")
        undo(ledger)
    return folder


def overwrite(chance: random.Random, whole: bytes) -> bytes:
    place, length = chance.randrange(len(whole)), chance.choice((1, 2, 8, 64, 512))
    return whole[:place] + chance.randbytes(length) + whole[place + length :]


def turn_a_bit(chance: random.Random, whole: bytes) -> bytes:
    place = chance.randrange(len(whole))
    return whole[:place] + bytes([whole[place] ^ 1 << chance.randrange(8)]) + whole[place + 1 :]


def empty_a_page(chance: random.Random, whole: bytes) -> bytes:
    place = 4096 * chance.randrange(len(whole) // 4096)
    return whole[:place] + bytes(4096) + whole[place + 4096 :]


def repeat_a_page(chance: random.Random, whole: bytes) -> bytes:
    one, other = (4096 * chance.randrange(len(whole) // 4096) for _ in range(2))
    return whole[:one] + whole[other : other + 4096] + whole[one + 4096 :]


def cut_off(chance: random.Random, whole: bytes) -> bytes:
    return whole[: chance.randrange(len(whole))]


def cut_off_at_a_page(chance: random.Random, whole: bytes) -> bytes:
    return whole[: 4096 * chance.randrange(len(whole) // 4096)]


def change_a_letter_of_a_sheet(chance: random.Random, whole: bytes) -> bytes:
    place = chance.randrange(len(whole))
    while not whole[place : place + 40].isalpha():
        place = chance.randrange(len(whole))
    return whole[:place] + (b"q" if whole[place] != ord("q") else b"z") + whole[place + 1 :]


KINDS: tuple[Damage, ...] = (
    overwrite,
    turn_a_bit,
    empty_a_page,
    repeat_a_page,
    cut_off,
    cut_off_at_a_page,
    change_a_letter_of_a_sheet,
)


def finding(folder: Path) -> str:
    """What the check says first of a damaged file; nothing when it is well."""
    try:
        found = [fault.what for fault in examine_shop(folder)]
    except LedgerError as error:
        found = [str(error)]
    return next(iter(found), "")


def test_no_damage_is_called_well_and_nothing_is_written_to_a_damaged_ledger(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of 120 damages, 40 in a quick run, every one is named, also those in bytes that no row uses."""
    chance, seen = random.Random(19), Counter[str]()
    whole, expected = (shop / FILE_NAME).read_bytes(), everything(shop / FILE_NAME)
    around = files_of(shop)
    for number in range(DAMAGES):
        harmed = whole
        while harmed == whole:
            harmed = KINDS[number % len(KINDS)](chance, whole)
        (shop / FILE_NAME).write_bytes(harmed)
        found = finding(shop)
        assert found, f"damage {number} is called well"
        assert files_of(shop) == around | {FILE_NAME: harmed}, "the check wrote"
        if UNUSED in found:
            assert everything(shop / FILE_NAME) == expected
        seen["in bytes that no row uses" if UNUSED in found else "in what the books say"] += 1
        with pytest.raises(LedgerError), Ledger.open(shop, create=True) as ledger:
            receive(ledger, A, 1, reason="invoice")
        assert (shop / FILE_NAME).read_bytes() == harmed, f"written to although: {found}"
    with capsys.disabled():
        print(f"\ndamages: {DAMAGES}, {dict(seen)}, called well: 0")  # noqa: T201 (the counts are asked for)


def test_a_damage_in_bytes_that_no_row_uses_is_mended_by_a_backup_that_is_restored(
    shop: Path, tmp_path: Path
) -> None:
    expected = harm_unused(shop)
    assert UNUSED in finding(shop)
    with Ledger.look(shop) as ledger:
        backup(ledger, tmp_path / "saved.backup")
    restore(shop, tmp_path / "saved.backup")
    assert finding(shop) == ""
    assert everything(shop / FILE_NAME) == expected
    with Ledger.open(shop) as ledger:
        receive(ledger, A, 1, reason="invoice")
    assert finding(shop) == ""


@pytest.mark.parametrize("note", [None, b"", b"\xff", b"a b c d", b"0 0 0"], ids=str)
def test_without_a_note_that_can_be_read_nothing_is_said_of_bytes_that_no_row_uses(
    note: bytes | None, shop: Path
) -> None:
    harm_unused(shop)
    note_of(shop / FILE_NAME).unlink()
    if note is not None:
        note_of(shop / FILE_NAME).write_bytes(note)
    assert finding(shop) == ""


def test_a_note_from_before_the_last_step_says_nothing(shop: Path) -> None:
    """As after a run that was killed between its step and its note."""
    old = note_of(shop / FILE_NAME).read_bytes()
    with Ledger.open(shop) as ledger:
        receive(ledger, A, 1, reason="invoice")
    note_of(shop / FILE_NAME).write_bytes(old)
    assert finding(shop) == ""


def harm_unused(shop: Path) -> dict[str, list[tuple[object, ...]]]:
    """Turn the last byte that no row uses; what the books say is given, and stays."""
    path = shop / FILE_NAME
    expected, whole = everything(path), path.read_bytes()
    for place in range(len(whole) - 1, 0, -97):
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
        with contextlib.suppress(LedgerError):
            found = examine_shop(shop)
            if found and UNUSED in found[0].what:
                return expected
    raise AssertionError("every byte is used")


@pytest.mark.parametrize("bytes_left", [0, 1, 50, 99, 100, 4096])
def test_an_empty_or_cut_off_ledger_is_refused_by_name_and_not_begun_anew(
    shop: Path, bytes_left: int
) -> None:
    path = shop / FILE_NAME
    path.write_bytes(path.read_bytes()[:bytes_left])
    before = files_of(shop)
    assert str(path) in finding(shop)
    for create in (False, True):
        with pytest.raises(DamagedLedgerError, match=r"shimwright\.ledger.*shimwright restore BACKUP"):
            import_into(shop, create=create)
    assert files_of(shop) == before


def import_into(shop: Path, *, create: bool) -> None:
    with Ledger.open(shop, create=create) as ledger:
        import_shelf(ledger, shelf_of({A: 1}), reason="shelf.csv")


def test_the_check_writes_nothing_beside_a_ledger_that_a_crash_left(shop: Path, tmp_path: Path) -> None:
    with Ledger.open(shop) as ledger:
        receive(ledger, A, 1, reason="in the log")
        crashed(shop, tmp_path / "crashed")
    before = files_of(tmp_path / "crashed")
    assert len(before[f"{FILE_NAME}-wal"]) > 0
    assert examine_shop(tmp_path / "crashed") == ()
    after = files_of(tmp_path / "crashed")
    after.pop(f"{FILE_NAME}-shm", None)  # the log's index, which SQLite makes anew for whoever reads
    assert after == before


@pytest.mark.parametrize("had", range(2, len(MIGRATIONS)))
def test_the_check_leaves_an_older_ledger_as_old_as_it_is(tmp_path: Path, had: int) -> None:
    new_shop_of_old(tmp_path, had)
    before = files_of(tmp_path)
    assert examine_shop(tmp_path) == ()
    assert files_of(tmp_path) == before
    with raw(tmp_path) as connection:
        assert tuple(applied(connection)) == tuple(range(1, had + 1))


@pytest.mark.parametrize(
    ("table", "change"),
    [
        ("build", "UPDATE build SET sheet = replace(sheet, 'a', 'b') WHERE id = 3"),
        ("plan", "UPDATE plan SET document = '{\"invented\": false}' WHERE id = 2"),
        ("outcome", "UPDATE outcome SET words = 'worse' WHERE id = 1"),
        ("person", "UPDATE person SET mass_kg = 75"),
        ("shelf_note", "UPDATE shelf_note SET drawer = 'Z9' WHERE id = 1"),
    ],
)
def test_content_that_shimwright_did_not_write_is_seen(shop: Path, table: str, change: str) -> None:
    with raw(shop) as connection:
        connection.executescript(change)
    found = examine_shop(shop)
    assert [fault.what for fault in found] == [f"table {table}: holds something else than shimwright wrote"]
    assert "shimwright restore BACKUP" in found[0].mend
    with pytest.raises(DamagedLedgerError, match="Nothing was changed"):
        import_into(shop, create=False)


def test_erasing_keeps_the_seal(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        erase_person(ledger, "Rider 3")
    assert examine_shop(shop) == ()


def test_a_step_that_is_taken_back_half_way_keeps_the_seal(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        with pytest.raises(LedgerError, match="never deleted"):
            receive_and_fail(ledger)
        receive(ledger, A, 1, reason="invoice")
    assert examine_shop(shop) == ()


def receive_and_fail(ledger: Ledger) -> None:
    with ledger.atomic() as connection:
        receive(ledger, A, 1, reason="invoice")
        connection.execute("DELETE FROM movement")
