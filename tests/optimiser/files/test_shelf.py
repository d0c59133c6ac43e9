"""The shelf's CSV file is read right or refused by line."""

import csv
import io
import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.errors import InputError
from optimiser.files.shelf import COLUMNS, ShelfRow, read_shelf, shelf_from_text, shelf_text
from optimiser.model.stock import ShimKey
from tests.helpers.counts import tries
from tests.helpers.paths import STIFF_SHOP

SHELF = STIFF_SHOP / "shelf.csv"
HEAD = "outer_mm,thickness_mm,hole_mm,count,drawer,label,low_at\n"
MUTATIONS = tries(quick=400, thorough=2000)
TYPED = "\"';,\t\n\r\x000123456789-.eE \u00a0\ufeff\u2212x"


def shelf_file(tmp_path: Path, data: bytes | str) -> Path:
    path = tmp_path / "shelf.csv"
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


def test_a_line_is_read_into_its_type_count_and_words() -> None:
    row = shelf_from_text(HEAD + "20,0.15,8,4,A1,for the tarn,2\n", name="x").rows
    assert row == (ShelfRow(ShimKey(20000, 150, 8000), 4, "A1", "for the tarn", 2),)


def test_the_shelf_is_read_and_its_own_writing_reads_back_equal() -> None:
    shelf = read_shelf(SHELF)
    assert len(shelf.rows) > 50
    text = shelf_text(shelf.rows)
    assert set(shelf_from_text(text, name="x").rows) == set(shelf.rows)
    assert shelf_text(shelf_from_text(text, name="x").rows) == text


@pytest.mark.parametrize(
    "data",
    [
        "outer_mm;thickness_mm;hole_mm;count\r\n20;0,15;8;4\r\n",
        "outer_mm\tthickness_mm\thole_mm\tcount\n20\t0.15\t8\t4\n",
        b"\xef\xbb\xbfouter_mm,thickness_mm,hole_mm,count\n20,0.15,8,4\n",
        "outer_mm,thickness_mm,hole_mm,count\r20,0.15,8,4\r",
        'outer_mm,thickness_mm,hole_mm,count\n"20","0,15","8","4"\n',
        "count,hole_mm,thickness_mm,outer_mm\n4,8,0.150,20.0\n",
        "outer_mm;thickness_mm;hole_mm;count;;\n20;0,15;8;4;;\n;;;;;\n",
        "outer_mm,thickness_mm,hole_mm,count\n20,0.15,8,4.0".encode("utf-16"),
        "outer_mm,thickness_mm,hole_mm,count\n20,0.15000000000000002,8,4\n",
    ],
)
def test_the_ways_that_spreadsheets_write_it_are_all_read(tmp_path: Path, data: bytes | str) -> None:
    assert read_shelf(shelf_file(tmp_path, data)).rows == (ShelfRow(ShimKey(20000, 150, 8000), 4),)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("20,15,8,4,,,", "shelf.csv:3: thickness_mm: got 15; expected 0.03 to 1 mm. Did you mean 0.15?"),
        ("20,150,8,4,,,", "Did you mean 0.15?"),
        ("0.02,0.15,8,4,,,", "outer_mm: got 0.02; expected 5 to 60 mm. Did you mean 20?"),
        ("20,0.15,8,-1,,,", "count: got '-1'; expected a whole number of shims such as 4; a count is never"),
        ("20,0.15,8,1.5,,,", "count: got '1.5'; expected a whole number"),
        ("20,0.15,8,1e3,,,", "count: got '1e3'"),
        ("20,nan,8,4,,,", "thickness_mm: got 'nan'; expected a number in mm"),
        ("inf,0.15,8,4,,,", "outer_mm: got 'inf'"),
        ("20,0.15,8,,,,", "count: got ''; expected a whole number of shims such as 4; write 0"),
        ("8,0.15,20,4,,,", "hole_mm smaller than outer_mm, got 20 and 8; are the two columns swapped?"),
        ("20,0.1016,8,4,,,", "whole micrometres; did you mean 0.102?"),
        ("20,0,15,8,4,,,,", "got 9 cells, expected 7"),
        ("20,0.15,8,5,4", "got 5 cells, expected 7"),
        ("20,0.15,8,4,,,-2", "low_at: got '-2'"),
        ("20,0.15,8,100001,,,", "count: got 100001; expected 0 to 100000"),
        ('20,0.15,8,4,"A1\n20,0.20,8,4,B",,', "shelf.csv:3: drawer: got"),
        ("19,0.10,8,4,,,", "shelf.csv:3: got 19x0.10 with a 8 mm hole a second time, first on line 2"),
        ("20,٠,8,4,,,", "thickness_mm: got '٠'"),
        (f"20,0.15,8,4,{'A' * 201},,", "drawer: got 201 characters; expected at most 200"),
        ('20,0.15,8,4,"A1,,', "shelf.csv:3: got a line that is not CSV"),
    ],
)
def test_a_line_that_cannot_be_right_is_refused_with_its_place_and_the_way_out(
    tmp_path: Path, line: str, says: str
) -> None:
    path = shelf_file(tmp_path, HEAD + "19,0.10,8,4,,,\n" + line + "\n")
    with pytest.raises(InputError) as refusal:
        read_shelf(path)
    assert says in str(refusal.value)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "got an empty file"),
        (b"\n\n", "got an empty file"),
        ("20,0.15,8,4\n", "got the column '20'; expected a header line"),
        ("outer_mm,thickness_mm,count\n", "got no column 'hole_mm'"),
        ("outer_mm,thickness_mm,hole_mm,count,count\n", "got the column 'count' twice"),
        (HEAD.encode() + "20,0.15,8,4,Tür,,\n".encode("cp1252"), "shelf.csv:2: got byte 69, which"),
        (b"\xff\xfea", "UTF-16"),
        (b"x" * 5_000_001, "got more than 5 MB"),
    ],
)
def test_a_file_that_is_no_shelf_is_refused_with_the_way_out(
    tmp_path: Path, data: bytes | str, says: str
) -> None:
    with pytest.raises(InputError) as refusal:
        read_shelf(shelf_file(tmp_path, data))
    assert says in str(refusal.value)


def test_a_missing_file_and_a_folder_are_refused_by_name(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        read_shelf(tmp_path / "none.csv")
    with pytest.raises(InputError, match="got a folder"):
        read_shelf(tmp_path)


def test_a_file_of_fifty_megabytes_is_refused_without_being_read_whole(tmp_path: Path) -> None:
    path = tmp_path / "big.csv"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    with pytest.raises(InputError, match="got more than 5 MB"):
        read_shelf(path)


def test_all_faults_are_said_at_once_and_a_wrong_file_is_not_said_a_thousand_times() -> None:
    text = HEAD + "".join(f"{size % 50 + 5},15,8,1,,,\n" for size in range(1000))
    with pytest.raises(InputError) as refusal:
        shelf_from_text(text, name="x")
    lines = str(refusal.value).splitlines()
    assert len(lines) == 21
    assert lines[-1].startswith("... and ")


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
    max_size=12,
)


@given(ROWS)
def test_whatever_is_written_reads_back_the_same_and_is_written_the_same(rows: list[ShelfRow]) -> None:
    text = shelf_text(rows)
    read = shelf_from_text(text, name="x").rows
    assert set(read) == set(rows)
    assert shelf_text(read) == text


def test_mutated_files_are_read_right_or_refused_by_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Read right means: as the standard library's dialect-free reading of the same cells, cell by cell."""
    chance = random.Random(7)
    path = tmp_path / "shelf.csv"
    read = refused = 0
    for _ in range(MUTATIONS):
        data = mutated(chance)
        path.write_bytes(data)
        try:
            rows = read_shelf(path).rows
        except InputError as error:
            refused += str(error).startswith(str(path))
            continue
        assert {tuple(cells) for cells in plainly_read(data)} == {as_cells(row) for row in rows}
        read += 1
    with capsys.disabled():
        print(f"\nmutated shelf files: {read} read right, {refused} refused by line")  # noqa: T201
    assert read + refused == MUTATIONS
    assert min(read, refused) > MUTATIONS // 10


def mutated(chance: random.Random) -> bytes:
    """Bytes of a small shelf file with up to three things done to it that editors or bit rot do."""
    separator = chance.choice(",,;;\t")
    decimal = chance.choice(".,") if separator != "," else "."
    quote: Literal[0, 1] = chance.choice([csv.QUOTE_MINIMAL, csv.QUOTE_ALL])
    out = io.StringIO(newline="")
    ending = chance.choice(["\n", "\r\n", "\r"])
    writer = csv.writer(out, delimiter=separator, quoting=quote, lineterminator=ending)
    writer.writerow(COLUMNS)
    for size in chance.sample(range(9, 40), chance.randint(1, 6)):
        thickness = f"{chance.choice([0.1, 0.15, 0.2, 0.3]):.2f}".replace(".", decimal)
        words = chance.choice(["", "A1", "Tür 3", "last; of, them", 'the "good" ones'])
        count = chance.randint(0, 20)
        read = chance.choice(["", "", f"{thickness} 2 of {thickness}"]) if count > 2 else ""
        writer.writerow([size, thickness, "8", count, words, "", chance.choice(["", 2]), read])
    text = out.getvalue()
    for _ in range(chance.randint(0, 3)):
        place = chance.randrange(len(text))
        text = chance.choice(
            [
                text,
                text[:place] + chance.choice(TYPED) + text[place:],
                text[:place] + text[place + 1 :],
                text[:place],
                text[:place] + text[place:].replace(".", ",", 1),
                text + text[place:],
                "\n" + text,
            ]
        )
        text = text or "x"
    encoding = chance.choice(["utf-8"] * 6 + ["utf-8-sig", "utf-16", "utf-16-le", "cp1252", "latin-1"])
    data = bytearray(text.encode(encoding, errors="replace"))
    if chance.random() < 0.1:
        data[chance.randrange(len(data))] = chance.randrange(256)
    return bytes(data)


READING = re.compile(r"(?:(\d+) of )?(\d[.,]\d+)")


def plainly_read(data: bytes) -> Iterator[tuple[float | str | None, ...]]:
    """The cells of a file, by a reader that shares nothing with ours but the standard library's CSV rules."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = data.decode("utf-16")
    else:
        text = data.decode("utf-8").removeprefix("\ufeff")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator_of(text))
    lines = [cells for line in reader if any(cells := [cell.strip() for cell in line])]
    head = [name.lower() for name in lines[0]]
    for cells in lines[1:]:
        given = dict(zip(head, cells, strict=True))
        yield (
            *(float(given[name].replace(",", ".")) for name in COLUMNS[:3]),
            int(float(given["count"].replace(",", "."))),
            given.get("drawer", ""),
            given.get("label", ""),
            int(float(given["low_at"].replace(",", "."))) if given.get("low_at") else None,
            sum(
                int(n or 1) * round(1000 * float(t.replace(",", ".")))
                for n, t in READING.findall(given.get("read_mm", ""))
            ),
        )


def separator_of(text: str) -> str:
    head = text.strip().splitlines()[0]
    return next(mark for mark in ";\t," if mark in head)


def as_cells(row: ShelfRow) -> tuple[float | str | None, ...]:
    key = row.key
    sizes = (key.outer / 1000, key.thickness / 1000, key.inner / 1000)
    return (*sizes, row.count, row.drawer, row.label, row.low_at, sum(row.readings))
