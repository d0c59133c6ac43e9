"""Members as arrays are those of the families, and none that can be built is left out."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations_with_replacement

import numpy as np
import pytest

from optimiser.model.edits import stack_of
from optimiser.search.bounds.order_spread import NO_SPREAD
from optimiser.search.evaluator import Evaluator
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.screen.figures import ShapeFigures
from optimiser.search.screen.listing import Listing
from optimiser.search.screen.member_table import MemberTable, _multisets
from optimiser.search.space.family import Family, root_families
from optimiser.search.space.members import Members
from optimiser.search.space.problem_data import ProblemData, problem_data
from optimiser.search.space.shape import Shape
from optimiser.search.tree.best_first import BestFirstTree
from optimiser.search.tree.roots import shapes
from tests.helpers.counts import some_of
from tests.helpers.real_goals import ONE_CHANGE, InReach, in_reach

NAMES = some_of(["two stages", "taper", "wide taper", "ring"], every=4)


def of_place(name: str) -> tuple[InReach, ProblemData, tuple[Shape, ...]]:
    reach = in_reach(ONE_CHANGE[name], 1)
    problem = reach.problem
    evaluator, metrics = Evaluator(problem.physics, cores=1), GoalMetrics(problem.goal)
    data = problem_data(problem, evaluator)
    kinds = shapes(data, evaluator, 2, relative_half_width=metrics.relative_half_width, setting=0)
    return reach, data, kinds


def parted(shape: Shape, *, times: int) -> Iterator[Family]:
    """The families of two changes, each split a few times."""
    families = list(root_families(shape, 2))
    for _ in range(times):
        families = [part for one in families for part in (one.split() if one.most_members > 32 else (one,))]
    return iter(families)


@pytest.mark.parametrize("name", NAMES)
def test_the_table_lists_each_set_of_shims_of_its_families_once(name: str) -> None:
    _, _, kinds = of_place(name)
    for shape in kinds[:2]:
        families = list(parted(shape, times=2))
        table = MemberTable.of(families)
        listed = [table.sites(member) for member in range(len(table))]
        expected = [moves for family in families for moves in family.moves()]
        names = [tuple(tuple(map(id, sites)) for sites in moves) for moves in listed]
        assert names == [tuple(tuple(map(id, sites)) for sites in moves) for moves in expected]
        assert len(set(names)) == len(names)


@pytest.mark.parametrize("name", NAMES)
def test_no_set_that_can_be_built_is_left_out(name: str) -> None:
    reach, data, kinds = of_place(name)
    members, built = Members(data, reach.problem.goal), 0
    for shape in kinds:
        table = MemberTable.of(list(root_families(shape, 2)))
        allowed = ShapeFigures(shape, data, reach.problem.goal).allowed(table)
        for member in np.random.default_rng(0).permutation(len(table))[:400].tolist():
            keys = shape.keys(*table.sites(member))
            if keys is None or members._rises(keys) != shape.runs - 1:
                continue
            if members.buildable(stack_of(keys)):
                built += 1
                assert allowed[member], stack_of(keys)
        mistaken = [
            member
            for member in np.flatnonzero(allowed)[:200].tolist()
            if shape.keys(*table.sites(member)) is None
        ]
        assert not mistaken
    assert built > 50


def test_figures_of_members_of_several_shapes_are_those_of_each_shape() -> None:
    """Shapes with the same slots, each with sites of its own that shims leave."""
    reach, data, kinds = of_place("two stages")
    shapes_of_two = tuple(shape for shape in kinds if shape.runs == 2)
    evaluator = Evaluator(reach.problem.physics, cores=1)
    tree = BestFirstTree(
        data=data,
        evaluator=evaluator,
        goal=reach.problem.goal,
        stock=reach.problem.stock,
        setting=0,
        spread=NO_SPREAD,
    )
    listing = Listing(tree, shapes_of_two)
    tables = []
    for number, shape in enumerate(shapes_of_two):
        for table in MemberTable.in_parts(list(root_families(shape, 2)), number=number, shapes=shapes_of_two):
            allowed = table.only(listing.figures[number].allowed(table))
            tables.append((allowed, listing.figures[number].inputs(allowed)))
    every = MemberTable.joined([table for table, _ in tables])
    order = np.random.default_rng(2).permutation(len(every))
    assert len(np.unique(every.shape_of)) > 2
    expected = np.concatenate([inputs for _, inputs in tables])[order]
    assert (listing.inputs(every.only(order)) == expected).all()


def test_figures_are_those_of_the_shims_that_lie_in_the_slots() -> None:
    reach, data, kinds = of_place("two stages")
    shape = max(kinds, key=lambda one: one.runs)
    figures = ShapeFigures(shape, data, reach.problem.goal)
    table = MemberTable.of(list(root_families(shape, 2)))
    table = table.only(np.flatnonzero(figures.allowed(table))[::97])
    inputs, slots = figures.inputs(table), len(shape.slots)
    for member in range(len(table)):
        outs, ins = table.sites(member)
        height = np.array([sum(one.height for one in slot.properties) for slot in shape.slots])
        for sites, sign in ((outs, -1), (ins, 1)):
            for site in sites:
                height[site.place] += sign * site.properties.height
        assert inputs[member, slots : 2 * slots] == pytest.approx(height, abs=1e-12)
        keys = shape.keys(outs, ins)
        assert keys is not None
        rise = next(k for k in range(len(keys) - 1) if keys[k + 1].outer > keys[k].outer)
        gap = [key for key in keys[: rise + 1] if key.outer < keys[rise + 1].outer]
        assert inputs[member, 3 * slots] == pytest.approx(sum(key.thickness for key in gap) * 1e-6)
        assert inputs[member, 3 * slots + 2] == max(key.outer for key in gap)
        together = np.exp(inputs[member, 2 * slots : 3 * slots]) - np.cumsum(inputs[member, :slots])
        assert together == pytest.approx(np.full(slots, together[0]))  # the same stiffness beside all of them
        assert together[0] > 0


@pytest.mark.parametrize(("size", "count"), [(1, 3), (4, 1), (5, 2), (6, 3), (3, 4)])
def test_ways_to_take_some_of_many_are_those_of_the_standard_library(size: int, count: int) -> None:
    assert _multisets(size, count).tolist() == [
        list(one) for one in combinations_with_replacement(range(size), count)
    ]
