"""Limits of thickness against the standard's table, boundaries included."""

import pytest

from damping_model.errors import GeometryError
from optimiser.unknowns.strip_tolerance import StripClass, thickness_limit

TABLE = (
    (0.10, 0.15, 0.010, 0.008, 0.006),
    (0.15, 0.20, 0.015, 0.010, 0.008),
    (0.20, 0.25, 0.015, 0.012, 0.008),
    (0.25, 0.30, 0.017, 0.012, 0.009),
    (0.30, 0.40, 0.020, 0.015, 0.010),
    (0.40, 0.50, 0.025, 0.020, 0.012),
    (0.50, 0.60, 0.030, 0.020, 0.014),
    (0.60, 0.80, 0.030, 0.025, 0.015),
    (0.80, 1.00, 0.030, 0.025, 0.018),
)
"""From, to under, and limits of the normal, fine and precision class in mm: EN 10258:1997, width under 125 mm."""


def limit(millimetres: float, strip: StripClass) -> float:
    return thickness_limit(thickness=millimetres * 1e-3, strip=strip) * 1e3


@pytest.mark.parametrize(("low", "high", "normal", "fine", "precision"), TABLE)
def test_each_row_of_the_standard_holds_from_its_lower_end_to_just_under_its_upper(
    low: float, high: float, normal: float, fine: float, precision: float
) -> None:
    for strip, expected in zip(StripClass, (normal, fine, precision), strict=True):
        for thickness in (low, (low + high) / 2, high - 1e-5):
            assert limit(thickness, strip) == pytest.approx(expected, abs=1e-12)


def test_below_a_tenth_of_a_millimetre_limits_are_shares_of_the_thickness() -> None:
    for thickness in (0.05, 0.08, 0.09999):
        found = [limit(thickness, strip) / thickness for strip in StripClass]
        assert found == pytest.approx([0.10, 0.06, 0.04])


@pytest.mark.parametrize("thickness", [0.0499, 1.0, 1.2])
def test_a_thickness_without_a_row_is_refused(thickness: float) -> None:
    with pytest.raises(GeometryError, match=r"expected 0\.05 to under 1:"):
        limit(thickness, StripClass.NORMAL)


@pytest.mark.parametrize(
    ("nominal", "rise", "fall"),
    [(0.10, 19.1, 16.9), (0.15, 16.9, 15.2), (0.20, 12.5, 11.5), (0.25, 11.2, 10.4)],
)
def test_stiffness_at_the_limits_of_the_precision_class_moves_with_the_cube(
    nominal: float, rise: float, fall: float
) -> None:
    """Worked from the standard's limits: (1 + dt/t)^3 - 1."""
    share = limit(nominal, StripClass.PRECISION) / nominal
    assert 100 * ((1 + share) ** 3 - 1) == pytest.approx(rise, abs=0.06)
    assert 100 * (1 - (1 - share) ** 3) == pytest.approx(fall, abs=0.06)
