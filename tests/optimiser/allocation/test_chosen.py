"""Which single shims to take: against every choice there is, drawn at random."""

import random
from collections import Counter
from itertools import combinations, product

import numpy as np
import pytest

from optimiser.allocation.chosen import Chosen, Drawer, choose
from tests.helpers.counts import tries


def drawer(chance: random.Random, bands: int) -> Drawer:
    nominal = chance.choice([50, 100, 150, 200, 300])
    readings = tuple(sorted(nominal + chance.randint(-8, 8) for _ in range(chance.randint(0, 5))))
    unread = chance.randint(0 if readings else 1, 2)
    return Drawer(
        taken=chance.randint(1, min(3, len(readings) + unread)),
        counted=nominal,
        readings=readings,
        unread=unread,
        uncertainty=chance.uniform(0, 4),
        effects=np.array([chance.uniform(-0.002, 0.02) for _ in range(bands)]),
    )


def every_way(one: Drawer) -> set[Chosen]:
    shims = [*one.readings, *([None] * one.unread)]
    ways = set()
    for taken in combinations(range(len(shims)), one.taken):
        read = tuple(sorted(shim for place in taken if (shim := shims[place]) is not None))
        ways.add(Chosen(read, one.taken - len(read)))
    return ways


def cost(drawers: list[Drawer], chosen: tuple[Chosen, ...]) -> tuple[float, float]:
    moves = sum(
        d.effects * (sum(c.readings) - d.counted * len(c.readings))
        for d, c in zip(drawers, chosen, strict=True)
    )
    unsure = sum(np.abs(d.effects) * d.uncertainty * c.unread for d, c in zip(drawers, chosen, strict=True))
    sizes = np.abs(moves) + unsure
    return float(sizes.max()), float(sizes.sum())


def test_no_other_choice_leaves_less() -> None:
    chance = random.Random(4)
    for _ in range(tries(quick=40, thorough=400)):
        drawers = [drawer(chance, 3) for _ in range(chance.randint(1, 3))]
        worst, total = cost(drawers, choose(drawers))
        every = list(product(*(every_way(one) for one in drawers)))
        best = min(cost(drawers, ways) for ways in every)
        assert worst == pytest.approx(best[0], abs=1e-7)
        alike = [found for ways in every if (found := cost(drawers, ways))[0] <= best[0] + 1e-7]
        assert total == pytest.approx(min(one[1] for one in alike), abs=1e-6)


def test_what_is_taken_lies_in_the_drawer() -> None:
    chance = random.Random(5)
    for _ in range(40):
        one = drawer(chance, 2)
        (found,) = choose([one])
        assert not Counter(found.readings) - Counter(one.readings)
        assert len(found.readings) + found.unread == one.taken
        assert found.unread <= one.unread


def test_a_thick_and_a_thin_one_go_together_rather_than_two_that_are_thick() -> None:
    one = Drawer(
        taken=2, counted=100, readings=(97, 102, 103), unread=0, uncertainty=2.0, effects=np.array([0.004])
    )
    assert choose([one]) == (Chosen((97, 103), 0),)


def test_a_shim_that_measures_what_it_should_is_taken_before_one_that_nobody_measured() -> None:
    one = Drawer(taken=1, counted=100, readings=(99,), unread=5, uncertainty=3.5, effects=np.array([0.004]))
    assert choose([one]) == (Chosen((99,), 0),)
    far = Drawer(taken=1, counted=100, readings=(106,), unread=5, uncertainty=3.5, effects=np.array([0.004]))
    assert choose([far]) == (Chosen((), 1),)


def test_a_drawer_that_is_short_is_refused() -> None:
    short = Drawer(taken=2, counted=100, readings=(99,), unread=0, uncertainty=3.5, effects=np.array([0.004]))
    with pytest.raises(ValueError, match="fewer shims than are taken"):
        choose([short])
