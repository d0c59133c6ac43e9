"""Candidates are told apart by where in the stack they do their work; those that work alike are one idea."""

from __future__ import annotations

import numpy as np
import pytest

from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.answer import Candidate
from optimiser.model.edits import changes_between
from optimiser.model.goal import Goal
from optimiser.model.stock import Stock
from optimiser.model.ways import Way, Zone, folded, way_of
from tests.helpers import toy

OLD = toy.stack(
    (20, 0.1), (20, 0.1), (18, 0.1), (12, 0.1), (19, 0.1), (19, 0.1), (16, 0.15), (12, 0.2), (10, 0.2), (9, 0.3)
)  # fmt: skip
FACE, FIRST, CROSSOVER = Zone.FACE, Zone.FIRST, Zone.CROSSOVER
SECOND, CLAMP_SIDE = Zone.SECOND, Zone.CLAMP_SIDE


def without(place: int, *, stack: Stack = OLD) -> Stack:
    return Stack((*stack.shims[:place], *stack.shims[place + 1 :]))


def with_one(place: int, outer: float, thickness: float, *, stack: Stack = OLD) -> Stack:
    return Stack((*stack.shims[:place], toy.key(outer, thickness).shim, *stack.shims[place:]))


def way(new: Stack, *, clicks: bool = False) -> Way:
    return way_of(changes_between(OLD, new), old=OLD, clicks=clicks)


@pytest.mark.parametrize(
    ("new", "zones"),
    [
        (without(0), ((FACE, -1),)),
        (with_one(0, 20, 0.1), ((FACE, 1),)),
        (with_one(3, 17, 0.1), ((FIRST, 1),)),
        (without(2), ((FIRST, -1),)),
        (without(3), ((CROSSOVER, -1),)),
        (with_one(3, 12, 0.1), ((CROSSOVER, 1),)),
        (with_one(4, 11, 0.1), ((CROSSOVER, 1),)),
        (without(4), ((SECOND, -1),)),
        (with_one(6, 18, 0.2), ((SECOND, 1),)),
        (without(7), ((CLAMP_SIDE, -1),)),
        (with_one(7, 13, 0.2), ((CLAMP_SIDE, 1),)),
    ],
)
def test_a_shim_is_named_by_the_part_of_the_stack_it_lies_in(
    new: Stack, zones: tuple[tuple[Zone, int], ...]
) -> None:
    assert way(new).zones == zones


def test_a_small_shim_that_makes_room_for_a_thick_wide_one_is_not_named() -> None:
    """Out 12x0.20, in 19x0.20: the second stage does the work, whichever small shim left."""
    assert way(with_one(4, 19, 0.2, stack=without(7))).zones == ((SECOND, 1),)
    assert way(with_one(4, 19, 0.2, stack=without(8))).zones == ((SECOND, 1),)


def test_a_crossover_that_is_moved_is_changed_and_neither_opened_nor_closed() -> None:
    old = toy.stack((20, 0.1), (12, 0.1), (19, 0.1), (19, 0.1), (18, 0.1), (9, 0.3))
    new = toy.stack((20, 0.1), (19, 0.1), (12, 0.1), (19, 0.1), (18, 0.1), (9, 0.3))
    assert len(changes_between(old, new)) == 1
    assert (CROSSOVER, 0) in way_of(changes_between(old, new), old=old, clicks=False).zones


def test_clicks_beside_shims_are_another_way() -> None:
    assert way(without(0), clicks=True) != way(without(0))
    assert way(without(0), clicks=True).words == "soften the face, clicks"


def test_nothing_changed_is_no_way_at_all() -> None:
    assert way(OLD).words == "as it is"


def candidate(new: Stack, physics: toy.ToyPhysics, goal: Goal) -> Candidate:
    forces = physics.forces(physics.packed(new), 0)
    return rank.candidate(old=OLD, new=new, setting=0, forces=forces, goal=goal, stock=Stock())


def test_twins_are_folded_below_the_first_of_them_and_ideas_keep_the_order_of_their_first() -> None:
    physics = toy.ToyPhysics()
    before = physics.forces(physics.packed(OLD), 0)
    goal = toy.goal(physics, OLD, desired=before * 1.02, tolerance=np.full(6, 1.0))
    news = [with_one(6, 18, 0.2), without(0), with_one(6, 17, 0.2), with_one(6, 18, 0.15), without(4)]
    ideas = folded([candidate(new, physics, goal) for new in news], old=OLD, present=0)
    assert [idea.way.words for idea in ideas] == [
        "stiffen the second stage",
        "soften the face",
        "soften the second stage",
    ]
    assert ideas[0].best.stack == news[0]
    assert [twin.stack for twin in ideas[0].twins] == [news[2], news[3]]
    assert sum(1 + len(idea.twins) for idea in ideas) == len(news)
