"""Compiling a search ahead of it, so that no time limit pays for that."""

from __future__ import annotations

import numpy as np

from damping_model.flow.warm_up import warm_up as warm_up_flow
from damping_model.stack.warm_up import warm_up as warm_up_physics
from optimiser.search.kernel.extremes import softest_plates, stiffest_plates
from optimiser.search.kernel.presence import makes_a_stack
from optimiser.search.kernel.selection import most_promising
from optimiser.search.kernel.sets import SetTable, SiteTable, allowed_sets, figures_of_sets, rising_sets
from optimiser.search.kernel.sums import Margins, WaysIn, WaysOut, WaySums, not_far_off, sums_of_ways
from optimiser.search.kernel.tables import move_table, slot_table
from optimiser.search.kernel.together import beyond_together
from optimiser.search.kernel.weight import weight_of


def warm_up() -> None:
    """Compile, or load what an earlier run compiled, with a stack of one shim."""
    slots = slot_table(
        run=[0],
        outer=[20_000],
        properties=[[(1.0, 1.0, 1.0, 1e-4)]],
        runs=1,
        least_face=18_000,
        clamp_radius=6e-3,
    )
    moves = move_table([], [], [], outs=0)
    makes_a_stack(slots, moves)
    rows, _, _ = stiffest_plates(slots, moves)
    softest_plates(slots, moves)
    weight_of(rows)
    table, row, flags = np.zeros((2, 1)), np.ones(1), np.zeros((2, 1), np.bool_)
    none = np.zeros((0, 2), np.int64)
    beyond_together(table, table, table, table, row, row, row, none, row[:0], row[:0], 1.0)
    _warm_up_sets()
    most_promising(table, table, table, table, flags, table, table, table, row, 0.0, False, False)


def _warm_up_sets() -> None:
    none, one, row = np.zeros((0, 1), np.int16), np.ones(1, np.int64), np.ones(1)
    sites = SiteTable(one, one, one, row, row)
    sets = SetTable(sites, sites, one, one, one, row, row, 1, one, one, 0.0, 0.0, 0.0, 0, True, 0, 0, 1.0)
    allowed_sets(none, none, sets, np.zeros(0, np.bool_))
    figures_of_sets(none, none, sets, np.zeros((0, 1)))
    rising = np.ones((1, 1), np.bool_)
    rising_sets(one, one, sets, rising)
    table, first = np.ones((1, 1)), np.zeros(1, np.int64)
    sums_of_ways(
        np.zeros((1, 1), np.int64), table, table, np.zeros(2), row, row, WaySums(table, row, row, row, row)
    )
    less = WaysOut(table, row, table, row, row, row, first)
    more = WaysIn(np.zeros((1, 1), np.int64), table, row, row, row, row, first, np.array([0, 1]))
    not_far_off(less, more, Margins(row, row), rising, 0.0, 1.0, 0.0)


def warm_up_with_physics() -> None:
    """Compile the physics too: two processes share the work."""
    warm_up_physics(beside=("optimiser.search.warm_up:warm_up", "damping_model.flow.warm_up:warm_up"))
    warm_up_flow()
    warm_up()
