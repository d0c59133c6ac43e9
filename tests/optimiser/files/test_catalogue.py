"""The catalogue's CSV file is read right or refused by file, line and field."""

from pathlib import Path

import pytest

from optimiser.errors import InputError
from optimiser.files.catalogue import COLUMNS, Offer, catalogue_from_text, read_catalogue
from optimiser.files.shelf import read_shelf
from optimiser.model.stock import ShimKey
from tests.helpers.paths import STIFF_SHOP

HEAD = ",".join(COLUMNS[:6]) + "\n"


def test_a_line_is_read_into_its_type_price_and_pack() -> None:
    assert catalogue_from_text(HEAD + "20,0.12,8,1.90,5,K07\n", name="x") == (
        Offer(ShimKey(20000, 120, 8000), 1.90, 5, "K07"),
    )


@pytest.mark.parametrize(
    "text",
    [
        "outer_mm,thickness_mm,hole_mm\n20,0.12,8\n",
        "outer_mm;thickness_mm;hole_mm;price\n20;0,12;8;\n",
        HEAD + "20,0.12,8,,,\n",
    ],
)
def test_price_pack_and_label_may_be_left_out(text: str) -> None:
    assert catalogue_from_text(text, name="x") == (Offer(ShimKey(20000, 120, 8000), None, 1, ""),)


def test_a_decimal_comma_counts_as_a_point_in_a_price_too() -> None:
    text = "outer_mm;thickness_mm;hole_mm;price\n20;0,12;8;1,90\n"
    assert catalogue_from_text(text, name="x")[0].price == 1.90


def test_pieces_are_bought_in_whole_packs_and_paid_for_by_the_pack() -> None:
    offer = Offer(ShimKey(20000, 120, 8000), 1.50, 5)
    assert [offer.packs(pieces) for pieces in (1, 5, 6)] == [1, 1, 2]
    assert offer.cost(6) == pytest.approx(15.0)
    assert Offer(ShimKey(20000, 120, 8000)).cost(1) is None


def test_the_catalogue_holds_about_40_types_most_of_which_the_shelf_lacks() -> None:
    offers = read_catalogue(STIFF_SHOP / "catalogue.csv")
    stock = read_shelf(STIFF_SHOP / "shelf.csv").stock
    assert 35 <= len(offers) <= 45
    assert {offer.key.inner for offer in offers} == {8000}
    assert sum(stock.count(offer.key) == 0 for offer in offers) >= 30
    assert any(offer.price is None for offer in offers)
    assert any(offer.pack_size > 1 for offer in offers)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("20,15,8,,,", "catalogue.csv:3: thickness_mm: got 15; expected 0.03 to 1 mm. Did you mean 0.15?"),
        ("20,,8,,,", "catalogue.csv:3: thickness_mm: got ''; expected a number in mm such as 0.15"),
        ("8,0.15,20,,,", "catalogue.csv:3: expected hole_mm smaller than outer_mm"),
        ("20,0.15,8,-1,,", "catalogue.csv:3: price: got '-1'; expected the price of one piece"),
        ("20,0.15,8,1.90 EUR,,", "catalogue.csv:3: price: got '1.90 EUR'"),
        ("20,0.15,8,nan,,", "catalogue.csv:3: price: got 'nan'"),
        (
            "20,0.15,8,100001,,",
            "catalogue.csv:3: price: got '100001'; expected the price of one piece from 0 to",
        ),
        ("20,0.15,8,,0,", "catalogue.csv:3: pack_size: got '0'; expected a whole number of pieces from 1"),
        ("20,0.15,8,,2.5,", "catalogue.csv:3: pack_size: got '2.5'"),
        ("20,0.15,8,,\u0665,", "catalogue.csv:3: pack_size: got '\u0665'"),
        (f"20,0.15,8,,,{'A' * 201}", "catalogue.csv:3: label: got 201 characters; expected at most 200"),
        ("20,0.15,8", "catalogue.csv:3: got 3 cells, expected 6 as in the header."),
        ("19,0.10,8,2,,", "catalogue.csv:3: got 19x0.10 with a 8 mm hole a second time, first on line 2"),
        ('20,0.15,8,,,"A', "catalogue.csv:3: got a line that is not CSV"),
    ],
)
def test_a_line_that_cannot_be_right_is_refused_with_its_place_and_the_way_out(
    tmp_path: Path, line: str, says: str
) -> None:
    path = tmp_path / "catalogue.csv"
    path.write_text(HEAD + "19,0.10,8,,,\n" + line + "\n", encoding="utf-8")
    with pytest.raises(InputError) as refusal:
        read_catalogue(path)
    assert says in str(refusal.value)


def test_all_faults_of_a_file_are_named_at_once(tmp_path: Path) -> None:
    with pytest.raises(InputError) as refusal:
        catalogue_from_text(HEAD + "20,15,8,-1,0,\n2,0.15,8,,,\n", name="x")
    assert [line.split(":")[2].strip() for line in str(refusal.value).splitlines()] == [
        "thickness_mm",
        "price",
        "pack_size",
        "outer_mm",
    ]


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "got an empty file"),
        (HEAD.encode(), "got no line below the header, expected a shim type a line"),
        (
            b"outer_mm,thickness_mm,hole_mm,count\n20,0.15,8,4\n",
            "got the column 'count'; expected a header line",
        ),
        (b"outer_mm,hole_mm\n20,8\n", "got no column 'thickness_mm'"),
        (HEAD.encode() + "20,0.15,8,,,Tür\n".encode("cp1252"), "expected a catalogue file in UTF-8"),
        (b"x" * 5_000_001, "got more than 5 MB, expected a catalogue file"),
    ],
)
def test_a_file_that_is_no_catalogue_is_refused_with_the_way_out(
    tmp_path: Path, data: bytes, says: str
) -> None:
    path = tmp_path / "catalogue.csv"
    path.write_bytes(data)
    with pytest.raises(InputError) as refusal:
        read_catalogue(path)
    assert says in str(refusal.value)


def test_a_missing_file_and_a_folder_are_refused_by_name(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file; expected a catalogue file"):
        read_catalogue(tmp_path / "none.csv")
    with pytest.raises(InputError, match="got a folder, expected a catalogue file"):
        read_catalogue(tmp_path)


def test_the_days_of_delivery_may_be_given_and_are_whole() -> None:
    head = ",".join(COLUMNS) + "\n"
    (offer,) = catalogue_from_text(head + "20,0.15,8,,,,3\n", name="x")
    assert offer.delivery_days == 3
    (offer,) = catalogue_from_text(head + "20,0.15,8,,,,\n", name="x")
    assert offer.delivery_days is None
    with pytest.raises(InputError, match=r"x:2: delivery_days: got '2.5'; expected whole days from 0 to 365"):
        catalogue_from_text(head + "20,0.15,8,,,,2.5\n", name="x")
