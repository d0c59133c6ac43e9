"""What a stack knows of itself without physics."""

from __future__ import annotations

import pytest

from damping_model.stack.stack import Shim, Stack
from tests.helpers.stacks import stack_of


def test_height_is_the_sum_of_the_thicknesses() -> None:
    """Shims lie on one another."""
    assert stack_of((20, 0.1), (18, 0.15), (14, 0.2), hole=8).height == pytest.approx(0.45e-3)


def test_a_ring_adds_no_height() -> None:
    """A ring lies around its centring shim, before or behind it in the list."""
    face, ring, centring = Shim(20e-3, 2e-4, 8e-3), Shim(15e-3, 3e-4, 12e-3), Shim(11.8e-3, 2e-4, 8e-3)
    for order in ((face, ring, centring), (face, centring, ring)):
        stack = Stack(order)
        assert [stack.is_ring(place) for place in range(3)] == [shim is ring for shim in order]
        assert stack.height == pytest.approx(4e-4)
