"""Shelf files go in whole, shown line by line first, and come out the same bytes."""

import random
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from optimiser.errors import InputError
from optimiser.files.shelf import Shelf, ShelfRow, read_shelf, shelf_text
from optimiser.ledger.check import examine
from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import RefusedError
from optimiser.ledger.levels import free_stock, shelf_levels
from optimiser.ledger.shelf_changes import compare, count_shelf, import_shelf, receive
from optimiser.ledger.undo import undo
from optimiser.model.stock import ShimKey
from tests.helpers.counts import tries
from tests.helpers.ledger_shop import A, B, C, D, counts, reserved_job, shelf_of, snapshot
from tests.helpers.paths import STIFF_SHOP

SHELF = STIFF_SHOP / "shelf.csv"
MUTATIONS = tries(quick=400, thorough=2000)


def exported(ledger: Ledger) -> str:
    return shelf_text(level.row for level in shelf_levels(ledger))


def new_shop_from(text: str, folder: Path) -> Ledger:
    folder.mkdir(exist_ok=True)
    path = folder / "shelf.csv"
    path.write_text(text, encoding="utf-8")
    ledger = Ledger.open(folder, create=True)
    import_shelf(ledger, read_shelf(path), reason="shelf.csv")
    return ledger


def test_the_shelf_exported_and_imported_into_a_new_shop_gives_equal_bytes(tmp_path: Path) -> None:
    with new_shop_from(SHELF.read_text(encoding="utf-8"), tmp_path / "first") as first:
        text = exported(first)
    with new_shop_from(text, tmp_path / "second") as second:
        assert exported(second) == text


ROWS = st.lists(
    st.builds(
        ShelfRow,
        st.builds(ShimKey, st.integers(31_000, 60_000), st.integers(30, 1000), st.integers(3000, 30_000)),
        st.integers(0, 100_000),
        st.text(st.characters(exclude_categories=("C", "Z")), max_size=12),
        st.text(st.characters(exclude_categories=("C", "Z")), max_size=12),
        st.none() | st.integers(0, 100),
    ),
    unique_by=lambda row: row.key,
    max_size=8,
)


@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(rows=ROWS)
def test_any_shelf_goes_round_with_equal_bytes(fast_folder: Path, rows: list[ShelfRow]) -> None:
    text = shelf_text(rows)
    with tempfile.TemporaryDirectory(dir=fast_folder) as folder, new_shop_from(text, Path(folder)) as ledger:
        assert exported(ledger) == text


def test_a_dry_run_says_what_each_line_would_change_and_changes_nothing(shop: Path) -> None:
    shelf = Shelf((ShelfRow(A, 6, "A1"), ShelfRow(B, 2)), (2, 5))
    with Ledger.open(shop) as ledger:
        before = snapshot(ledger)
        found = compare(ledger, shelf)
        assert [(d.line, d.count_change, d.words_change) for d in found.lines] == [
            (2, 2, True),
            (5, 0, False),
        ]
        assert [level.key for level in found.not_in_file] == [C]
        assert snapshot(ledger) == before


def test_an_import_takes_counts_and_words_and_leaves_other_types_alone(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        import_shelf(ledger, shelf_of({A: 6}, drawer="A1", label="wide", low_at=2), reason="shelf.csv")
        levels = {level.key: level for level in shelf_levels(ledger)}
        assert (levels[A].shelf, levels[A].drawer, levels[A].label, levels[A].low_at) == (6, "A1", "wide", 2)
        assert levels[B].shelf == 2
        undo(ledger)
        levels = {level.key: level for level in shelf_levels(ledger)}
        assert (levels[A].shelf, levels[A].drawer, levels[A].low_at) == (4, "", None)


def test_an_import_that_changes_nothing_is_no_step(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        before = snapshot(ledger)
        assert import_shelf(ledger, shelf_of({A: 4}), reason="again").operation is None
        assert snapshot(ledger) == before


def test_a_stock_take_changes_counts_and_leaves_the_words(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        import_shelf(ledger, shelf_of({A: 4}, drawer="A1"), reason="shelf.csv")
        count_shelf(ledger, shelf_of({A: 3}), reason="stock-take")
        level = next(level for level in shelf_levels(ledger) if level.key == A)
        assert (level.shelf, level.drawer) == (3, "A1")


def test_counts_under_what_is_promised_are_refused_by_line_and_nothing_is_imported(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        reserved_job(ledger, "ines", taken={A: 3})
        before = snapshot(ledger)
        with pytest.raises(
            RefusedError, match=r"line 3: 20x0\.10: got a count of 2, expected at least the 3"
        ):
            import_shelf(ledger, Shelf((ShelfRow(B, 9), ShelfRow(A, 2)), (2, 3)), reason="shelf.csv")
        assert snapshot(ledger) == before


def test_a_type_is_low_by_what_is_free(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        import_shelf(ledger, shelf_of({A: 4}, low_at=1), reason="shelf.csv")
        reserved_job(ledger, "ines", taken={A: 2})
        assert not next(level for level in shelf_levels(ledger) if level.key == A).low
        reserved_job(ledger, "jonas", taken={A: 1})
        assert next(level for level in shelf_levels(ledger) if level.key == A).low


def test_a_plan_sees_what_is_free_and_a_type_with_none_is_left_out(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        receive(ledger, D, 1, reason="invoice")
        reserved_job(ledger, "ines", taken={D: 1})
        assert free_stock(ledger).counts == {A: 4, B: 2, C: 1}


def test_broken_files_never_import_in_part(fast_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Lines and cells of a good file are broken at random; the ledger holds all of a file or none of it."""
    chance = random.Random(11)
    good = SHELF.read_bytes()
    path = fast_folder / "shelf.csv"
    taken = refused = 0
    with Ledger.open(fast_folder, create=True) as ledger:
        import_shelf(ledger, read_shelf(SHELF), reason="first count")
        start = counts(ledger)
        for _ in range(MUTATIONS):
            path.write_bytes(broken(good, chance))
            before = counts(ledger)
            try:
                shelf = read_shelf(path)
                operation = import_shelf(ledger, shelf, reason="shelf.csv").operation
            except InputError:
                assert counts(ledger) == before == start
                refused += 1
                continue
            expected = {**{key: n for key, (n, _) in start.items()}, **{r.key: r.count for r in shelf.rows}}
            assert counts(ledger) == {key: (n, 0) for key, n in expected.items() if n}
            taken += 1
            if operation is not None:
                undo(ledger, operation)
            assert counts(ledger) == start
        assert examine(ledger) == ()
    with capsys.disabled():
        print(f"\nbroken shelf files: {taken} imported whole, {refused} refused, none in part")  # noqa: T201
    assert taken + refused == MUTATIONS
    assert min(taken, refused) > MUTATIONS // 10


def broken(good: bytes, chance: random.Random) -> bytes:
    data = bytearray(good)
    for _ in range(chance.randint(1, 3)):
        place = chance.randrange(len(data))
        kind = chance.randrange(6)
        if kind == 0:
            data[place] = chance.randrange(256)
        elif kind == 1:
            data[place:place] = chance.choice([b'"', b";", b",", b"\n", b"\xff", b"\xef\xbb\xbf", b"0", b"-"])
        elif kind == 2:
            del data[place]
        elif kind == 3:
            del data[place:]
        elif kind == 4:
            data[:] = bytes(data).replace(b",", chance.choice([b";", b"\t", b","]))
        else:
            line = bytes(data).splitlines(keepends=True)
            data += chance.choice(line)
        data = data or bytearray(b"x")
    if chance.random() < 0.2:
        text = bytes(data).decode("utf-8", errors="replace")
        data = bytearray(text.encode(chance.choice(["utf-8-sig", "utf-16", "utf-16-le", "utf-32"])))
    return bytes(data)
