"""Coarse forces of changed stacks lie within their margins of exact ones."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.several.one_change import margins_of
from tests.helpers.counts import some_of, thorough_only
from tests.helpers.two_stacks import FORK, SHOCK, TwoPlaces, both_in_reach

HALF: float = 0.5
"""Margins are called far wider than errors: at least twice as wide."""


@pytest.mark.parametrize(
    "places",
    [SHOCK, pytest.param(FORK, marks=thorough_only("two strokes cost more than a quick run has"))],
    ids=lambda one: one.damper,
)
def test_two_changes_from_the_stack_coarse_forces_lie_within_half_of_their_margins(places: TwoPlaces) -> None:
    """Every tenth stack within reach, all of them in a thorough run."""
    reach = both_in_reach(places, 2)
    before = np.asarray(reach.problem.goal.before)
    for one, each in zip(reach.problem.open_stacks, reach.each, strict=True):
        has_say = np.array(one.has_say)
        for reached in some_of(each, every=10):
            packed = one.physics.packed(reached.stack)
            coarse = one.physics.coarse_forces(packed, reach.problem.setting)
            off = np.abs(reached.forces - coarse) / margins_of(coarse, before)
            assert off[has_say].max() < HALF, reached.stack
