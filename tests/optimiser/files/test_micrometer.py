"""Readings as people write them, one a shim."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.errors import InputError
from optimiser.files.micrometer import measured_words, readings_from_text, readings_text
from optimiser.files.shelf import shelf_from_text, shelf_text
from optimiser.model.stock import ShimKey, Stock

HEAD = "outer_mm,thickness_mm,hole_mm,count,read_mm\n"


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("", ()),
        ("0.103", (103,)),
        ("0.103; 2 of 0.099", (99, 99, 103)),
        ("0.103 0.101  0.0985", (98, 101, 103)),
        ("0,103;0,101", (101, 103)),
        ("3x0.1", (100, 100, 100)),
    ],
)
def test_readings_are_read_as_they_are_written(text: str, read: tuple[int, ...]) -> None:
    assert readings_from_text(text, nominal=100) == read


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("0.2", "within 25 % of the 0.1 mm of the type, got 0.2"),
        ("0.103, 0.099", "parted by a semicolon or a blank"),
        ("thick", "readings in mm such as '0.103; 2 of 0.099', got 'thick'"),
        ("9999 of 0.1", "at most 1000 readings"),
        ("103", "readings in mm"),
    ],
)
def test_what_is_no_reading_is_refused_with_what_was_expected(text: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        readings_from_text(text, nominal=100)


@given(st.lists(st.integers(80, 120), max_size=12))
def test_readings_read_back_as_they_were_written(readings: list[int]) -> None:
    assert readings_from_text(readings_text(readings), nominal=100) == tuple(sorted(readings))


def test_a_shelf_file_carries_them_and_one_without_keeps_its_columns() -> None:
    text = HEAD + "20,0.10,8,3,0.103; 2 of 0.099\n18,0.15,8,2,\n"
    shelf = shelf_from_text(text, name="shelf.csv")
    assert shelf.stock.readings == {ShimKey(20000, 100, 8000): (99, 99, 103)}
    assert shelf_from_text(shelf_text(shelf.rows), name="x").rows == shelf.rows
    assert "read_mm" not in shelf_text(shelf.rows[1:])


def test_more_readings_than_shims_are_refused_by_line() -> None:
    with pytest.raises(
        InputError, match=r"shelf.csv:2: .*at most as many readings in read_mm as shims, got 2 for 1"
    ):
        shelf_from_text(HEAD + "20,0.10,8,1,0.103 0.099\n", name="shelf.csv")


def test_a_slip_in_a_reading_names_its_line_and_column() -> None:
    with pytest.raises(InputError, match=r"shelf.csv:2: expected in read_mm readings within 25 %"):
        shelf_from_text(HEAD + "20,0.10,8,1,0.203\n", name="shelf.csv")


def test_a_shelf_in_hand_has_a_type_for_each_reading_and_no_shim_more_or_less() -> None:
    key, other = ShimKey(20000, 100, 8000), ShimKey(18000, 150, 8000)
    stock = Stock({key: 5, other: 2}, drawers={key: "A1"}, readings={key: (98, 103, 103)})
    real = stock.in_hand()
    thick, thin = key._replace(thickness=103), key._replace(thickness=98)
    assert dict(real.counts) == {thick: 2, thin: 1, key: 2, other: 2}
    assert real.drawers == dict.fromkeys((thick, thin, key), "A1")
    assert real.nominal == {thick: key, thin: key}


def test_a_person_reads_how_many_were_measured_or_that_nobody_knows_which_are_left() -> None:
    assert measured_words((98, 103), noted=2) == "2, 0.098 to 0.103"
    assert measured_words((98, 98), noted=2) == "2 at 0.098"
    assert measured_words((), noted=3) == "measure again: 3 were read, fewer are free"
    assert measured_words((), noted=0) == ""
