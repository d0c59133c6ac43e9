"""Compiling a search ahead of it, so that no time limit pays for that."""

from __future__ import annotations

import numpy as np

from optimiser.search.kernel.extremes import makes_a_stack, soft_end, stiff_end
from optimiser.search.kernel.selection import likeliest
from optimiser.search.kernel.tables import move_table, slot_table
from optimiser.search.kernel.weight import weight_of


def warm_up() -> None:
    """Compile, or load what an earlier run compiled, by asking about one shim."""
    slots = slot_table(
        run=[0],
        outer=[20_000],
        figures=[[(1.0, 1.0, 1.0, 1e-4)]],
        runs=1,
        least_face=18_000,
        clamp_radius=6e-3,
    )
    moves = move_table([], [], [], outs=0)
    makes_a_stack(slots, moves)
    rows, _, _ = stiff_end(slots, moves)
    soft_end(slots, moves)
    weight_of(rows)
    table, row, flags = np.zeros((2, 1)), np.ones(1), np.zeros((2, 1), np.bool_)
    likeliest(table, table, table, table, flags, table, table, table, row, 0.0, False, False)
