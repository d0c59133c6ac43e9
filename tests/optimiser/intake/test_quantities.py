"""Figures are read where a person writes them, in the unit that stands on the gauge."""

import pytest

from optimiser.errors import InputError
from optimiser.intake.quantities import LENGTH, MASS, PRESSURE, RATE, Quantity, read, read_all

WRITTEN = [
    ("10.5", LENGTH, 10.5),
    ("10,5 mm", LENGTH, 10.5),
    (".1", LENGTH, 0.1),
    ("1.2 cm", LENGTH, 12),
    ("3/8 in", LENGTH, 9.525),
    ('1 1/2"', LENGTH, 38.1),
    ("1 1/2 inches", LENGTH, 38.1),
    ("163 lb", MASS, 73.9356),
    ("163lbs.", MASS, 73.9356),
    ("74 KG", MASS, 74),
    ("180 psi", PRESSURE, 12.4106),
    ("12,4 bar", PRESSURE, 12.4),
    ("0", PRESSURE, 0),
    ("1200 kPa", PRESSURE, 12),
    ("55 lb/in", RATE, 9.63198),
    ("0.98 kg/mm", RATE, 9.61052),
    ("9.6 N / mm", RATE, 9.6),
]


@pytest.mark.parametrize(("text", "quantity", "value"), WRITTEN)
def test_a_figure_is_read_in_the_unit_that_it_has(text: str, quantity: Quantity, value: float) -> None:
    assert read(text, quantity) == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "quantity", "said"),
    [
        ("12", PRESSURE, "got '12' without its unit, expected a pressure like 12.5 bar or 180 psi."),
        ("12 mm", PRESSURE, "got '12 mm', expected a pressure in bar or another unit for it"),
        ("wide", LENGTH, "got 'wide', expected a length like 10.5 mm or 3/8 in."),
        ("1/0 in", LENGTH, "got '1/0', expected a number."),
        ("", MASS, "got '', expected a weight like 74 kg or 163 lb."),
        ("1e5", LENGTH, "got '1e5', expected a length"),
        ("nan", LENGTH, "got 'nan', expected a length"),
    ],
)
def test_what_is_no_such_figure_is_refused_with_an_example(text: str, quantity: Quantity, said: str) -> None:
    with pytest.raises(InputError) as caught:
        read(text, quantity)
    assert said in str(caught.value)


@pytest.mark.parametrize(
    "text", ["10 to 15 mm", "10 mm to 15 mm", "10 and 15", "10, 15 mm", "10 - 15", "10 15", "1 to 1.5 cm"]
)
def test_two_figures_share_a_unit_at_the_end(text: str) -> None:
    assert read_all(text, LENGTH, count=2) == (10, 15)


def test_one_figure_where_two_are_asked_for_is_refused() -> None:
    with pytest.raises(InputError, match="got '10 mm', expected 2 figures"):
        read_all("10 mm", LENGTH, count=2)
