"""The table of bands gives means and names where each band is tightest; its verdict covers all of it."""

from __future__ import annotations

from itertools import islice

import numpy as np
import pytest

from optimiser.model.band_result import mean_before
from optimiser.report.band_rows import band_rows, marks
from optimiser.report.band_table import where_text
from optimiser.report.unit_system import UnitSystem
from tests.helpers.sheet_samples import goal, law


def test_a_band_is_kept_when_every_force_lies_on_or_within_its_limits() -> None:
    """Limits belong to the band."""
    asked = goal()
    assert all(row.within for row in band_rows(asked, tuple(asked.desired)))
    assert all(row.within for row in band_rows(asked, tuple(asked.upper)))
    assert all(row.within for row in band_rows(asked, tuple(asked.lower)))


@pytest.mark.parametrize("place", range(20))
def test_one_force_past_its_limit_misses_its_band_and_its_velocity_is_named(place: int) -> None:
    """A single velocity out of range is where the row is tightest, and no other band is blamed."""
    asked = goal()
    forces = list(asked.desired)
    forces[place] = 1.001 * asked.upper[place]
    rows = band_rows(asked, forces)
    assert [row.within for row in rows] == [index != place // 5 for index in range(4)]
    row, speed = rows[place // 5], abs(asked.velocities[place])
    for named in (row.tightest, row.result.missed_at):
        assert named == pytest.approx(speed)
    said = where_text(row, units=UnitSystem.METRIC)
    assert said.startswith("out by 0.")
    assert said.endswith(f" points at {speed:.3g} m/s")


def test_the_force_before_does_not_depend_on_what_is_looked_at() -> None:
    """Whatever a candidate does, a band has one force before: its mean over the logarithm of velocity."""
    asked, rng = goal(), np.random.default_rng(7)
    for _ in range(50):
        rows = band_rows(asked, tuple(asked.desired * rng.uniform(0.8, 1.2, asked.desired.size)))
        assert [row.result.before for row in rows] == [mean_before(window) for window in asked.windows]


def test_changes_are_shares_of_the_force_before() -> None:
    """The target's row of an untouched damper shows no change, and what was allowed."""
    asked = goal()
    row = band_rows(asked, tuple(law(v) for v in asked.velocities))[0]
    assert row.result.mean == pytest.approx(0)
    least, most = row.result.allowed
    assert (least, most) == (pytest.approx(0.05), pytest.approx(0.11))
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
