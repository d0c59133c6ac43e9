"""Figures are rounded so that what they let through stays through; names that mean two bands loosen none."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.intake.bands import HoldBand, TargetBand
from optimiser.intake.goal_builder import goal_from_bands
from optimiser.model.goal import Goal
from optimiser.studies.loosenable import Kind, loosenable_windows

TARGET = TargetBand("low", "compression", 0.05, 0.15, 0.03, shift=0.10)


def goal(*holds: HoldBand, familiarity: float | None = None) -> Goal:
    return goal_from_bands(
        targets=[TARGET],
        holds=holds,
        familiarity=familiarity,
        forces=lambda velocities: 100 * np.sqrt(np.abs(velocities)),
        least_height=0.0,
        most_height=1.0,
    )


@pytest.mark.parametrize(
    ("needed", "figure"),
    [(0.0641, "6.42"), (0.064, "6.41"), (0.1, "10.1"), (0.062341, "6.24"), (0.5, "50.1")],
)
def test_a_tolerance_is_rounded_up_to_three_digits(needed: float, figure: str) -> None:
    """A figure that is just enough gets one step of room: the last digit of a force is not its own."""
    asked = goal(HoldBand("high", "compression", 0.6, 1.5, 0.06))
    one = loosenable_windows(asked, targets=[TARGET], familiarity=None)[1]
    forces = np.array(asked.windows[1].before) * (1 + needed)
    assert one.figure(needed, forces) == figure


@pytest.mark.parametrize(("done", "figure"), [(0.0512, "8.11"), (0.04561, "7.56"), (0.145, "11.6")])
def test_a_shift_is_rounded_away_from_the_one_that_is_wanted(done: float, figure: str) -> None:
    """+10 % within 3 is met by anything from 7 to 13: what lies beyond needs another shift."""
    asked = goal()
    one = loosenable_windows(asked, targets=[TARGET], familiarity=None)[0]
    forces = np.array(asked.windows[0].before) * (1 + done)
    value = one.closest(forces)
    assert value is not None
    assert value == pytest.approx(done + (0.03 if done < 0.1 else -0.03))
    assert one.figure(value, forces) == figure


def test_a_name_that_stands_for_two_bands_loosens_neither() -> None:
    twice = [HoldBand("high", stroke, 0.6, 1.5, 0.06) for stroke in ("compression", "rebound")]
    assert [one.name for one in loosenable_windows(goal(*twice), targets=[TARGET], familiarity=None)] == [
        "low"
    ]


def test_a_stretch_that_no_band_covers_is_loosened_by_its_own_name() -> None:
    asked = goal(familiarity=0.15)
    kinds = {one.name: one.kind for one in loosenable_windows(asked, targets=[TARGET], familiarity=0.15)}
    assert kinds.pop("low") is Kind.SHIFT
    assert kinds
    assert set(kinds.values()) == {Kind.FAMILIARITY}


def test_a_shift_is_loosened_neither_to_a_trifle_nor_beyond_the_limit_on_everything() -> None:
    free = loosenable_windows(goal(), targets=[TARGET], familiarity=None)[0]
    limited = loosenable_windows(goal(familiarity=0.15), targets=[TARGET], familiarity=0.15)[0]
    assert (free.least, free.most) == (pytest.approx(0.1 / 3), pytest.approx(0.2))
    assert limited.most == pytest.approx(0.15, abs=0.01)
    assert limited.most <= 0.15 + 1e-12
