"""The table of bands is read where each band is tightest, and its verdict covers all of it."""

from __future__ import annotations

from itertools import islice

import pytest

from optimiser.report.band_rows import band_rows, marks
from tests.helpers.sheet_samples import goal, law


def test_a_band_is_kept_when_every_force_lies_on_or_within_its_limits() -> None:
    """Limits belong to the band."""
    asked = goal()
    assert all(row.within for row in band_rows(asked, tuple(asked.desired)))
    assert all(row.within for row in band_rows(asked, tuple(asked.upper)))
    assert all(row.within for row in band_rows(asked, tuple(asked.lower)))


@pytest.mark.parametrize("place", range(20))
def test_one_force_past_its_limit_misses_its_band_and_is_the_one_shown(place: int) -> None:
    """A single velocity out of range is the row's figure, and no other band is blamed."""
    asked = goal()
    forces = list(asked.desired)
    forces[place] = 1.001 * asked.upper[place]
    rows = band_rows(asked, forces)
    assert [row.within for row in rows] == [index != place // 5 for index in range(4)]
    assert rows[place // 5].velocity == pytest.approx(abs(asked.velocities[place]))
    assert rows[place // 5].after == forces[place]


def test_changes_are_shares_of_the_force_before() -> None:
    """The target's row of an untouched damper shows no change, and what was allowed."""
    asked = goal()
    row = band_rows(asked, tuple(law(v) for v in asked.velocities))[0]
    assert row.change == pytest.approx(0)
    assert (row.least_change, row.most_change) == (pytest.approx(0.05), pytest.approx(0.11))
    assert not row.within


def test_rebound_bands_show_speeds_that_are_not_negative() -> None:
    """The stroke says the way; the speed is a speed."""
    row = band_rows(goal(), tuple(goal().desired))[3]
    assert row.stroke == "rebound"
    assert (row.low, row.high) == (pytest.approx(0.05), pytest.approx(1.5))


def test_a_force_short_is_refused() -> None:
    """One force for each velocity, or none of it is true."""
    with pytest.raises(ValueError, match="got 19 forces, expected one for each of 20"):
        band_rows(goal(), tuple(goal().desired[:-1]))


def test_marks_go_on_after_z() -> None:
    """A goal with familiarity may have many windows, and each letter stands for one."""
    first = list(islice(marks(), 30))
    assert first[:2] == ["A", "B"]
    assert first[25:28] == ["Z", "AA", "AB"]
    assert len(set(islice(marks(), 800))) == 800
