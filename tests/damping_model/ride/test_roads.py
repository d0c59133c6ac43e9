"""Roads are what geometry and the standard say."""

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.signal import welch

from damping_model.errors import GeometryError
from damping_model.ride.roads import (
    BEFORE,
    CLASS_ROUGHNESS,
    hollow,
    lip,
    rollers,
    square_edge,
    uneven_heights,
)
from tests.helpers.counts import some_of


def test_an_edge_starts_as_steeply_as_the_wheel_meets_it() -> None:
    """R 0.37 m, 50 mm at 5 m/s: 2.90 m/s, worked by hand on the page about wheel and shaft."""
    road = square_edge(height=0.05, speed=5.0, wheel_radius=0.37)
    first = road(np.array([BEFORE, BEFORE + 1e-7]))
    assert (first[1] - first[0]) / 1e-7 == pytest.approx(2.90, abs=5e-3)
    assert road(np.array([0.0, BEFORE, 1.0])) == pytest.approx([0.0, 0.0, 0.05])


def test_waves_are_as_high_and_as_many_as_asked() -> None:
    times = np.linspace(0, 3, 3001)
    road = rollers(height=0.3, length=4.0, speed=8.0, count=3)(times)
    crests = ((road[1:-1] > road[:-2]) & (road[1:-1] >= road[2:])).sum()
    assert (road.max(), road.min(), crests) == (pytest.approx(0.3), 0.0, 3)
    assert hollow(depth=0.2, length=4.0, speed=8.0)(times).min() == pytest.approx(-0.2)


def test_a_lip_throws_up_by_twice_its_mean_slope() -> None:
    times = BEFORE + np.array([0.1999, 0.2])
    road = lip(height=0.5, length=2.0, speed=10.0)(times)
    assert (road[1] - road[0]) / 1e-4 == pytest.approx(2 * 0.5 / 0.2, rel=1e-3)
    assert lip(height=0.5, length=2.0, speed=10.0)(np.array([1.0]))[0] == pytest.approx(0.0)


CLASSES = (("C", 256e-6), ("A", 16e-6), ("B", 64e-6), ("D", 1024e-6), ("E", 4096e-6))
"""Geometric means at 0.1 cycles/m. [m^3]"""


@pytest.mark.parametrize(("road_class", "expected"), some_of(CLASSES, every=5))
def test_a_rough_road_has_the_density_of_its_class_over_two_decades(road_class: str, expected: float) -> None:
    """ISO 8608:2016: geometric means at 0.1 cycles/m, falling with the square of the wave number."""
    step = 0.02
    along = np.arange(0, 2000, step)
    heights = uneven_heights(road_class=road_class, seed=5, along=along)
    waves, density = welch(heights, fs=1 / step, nperseg=20_000, window="hann", detrend="constant")
    octaves = np.array([0.0375, 0.0625, 0.1125, 0.2125, 0.4125, 0.8125, 1.6125, 3.2125, 5.0125])
    for low, high in pairwise(octaves):
        inside = (waves >= low) & (waves < high)
        power = density[inside].sum() * (waves[1] - waves[0])
        assert power == pytest.approx(expected * 0.1**2 * (1 / low - 1 / high), rel=0.05), (road_class, low)


def test_each_class_is_four_times_as_rough_as_the_one_before() -> None:
    values = list(CLASS_ROUGHNESS.values())
    assert all(math.isclose(b / a, 4.0) for a, b in pairwise(values))


def test_one_seed_is_one_road() -> None:
    along = np.linspace(0, 10, 50)
    same = [uneven_heights(road_class="C", seed=seed, along=along) for seed in (3, 3, 4)]
    assert (same[0] == same[1]).all()
    assert np.abs(same[0] - same[2]).max() > 1e-3


def test_a_class_or_an_edge_that_is_none_is_refused() -> None:
    with pytest.raises(GeometryError, match="got road class 'Z', expected one of A, B"):
        uneven_heights(road_class="Z", seed=1, along=np.zeros(2))
    with pytest.raises(GeometryError, match="A wheel does not roll over more"):
        square_edge(height=0.4, speed=5.0, wheel_radius=0.3)
