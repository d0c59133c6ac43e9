"""Among shims of one nominal size those that bring a stack nearest to what was planned, by their readings.

What a micrometer reads beyond the nominal thickness moves each band of the force curve. To first order the
moves of single shims add up, so the choice is linear: whole numbers of each reading, as many as are taken,
and the largest move of any band as small as can be. OR-Tools' CP-SAT solves that [1]_.

References
----------
.. [1] L. Perron and F. Didier, CP-SAT, Google OR-Tools, https://developers.google.com/optimization/cp.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.allocation.solver import least_in_turn

SCALE: Final = 1e9
"""Moves are whole multiples of a part in so many of the force. [-]"""

SECONDS: Final = 5.0
"""The choice is small; should it take longer, the best so far stands. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawer:
    """Shims of one type, of which the plan takes some.

    Parameters
    ----------
    taken : how many the plan takes.
    counted : thickness that the plan counts with. [um]
    readings : of those that were read, one entry a shim. [um]
    unread : how many others lie there.
    uncertainty : standard uncertainty of the thickness of those others. [um]
    effects : move of each band for each micrometre of one shim (bands,), as a share of the force. [1/um]
    """

    taken: int
    counted: float
    readings: tuple[int, ...]
    unread: int
    uncertainty: float
    effects: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Chosen:
    """The shims to take from one drawer.

    Parameters
    ----------
    readings : what they measure, rising. [um]
    unread : how many of those that were not read.
    """

    readings: tuple[int, ...]
    unread: int


def choose(drawers: Sequence[Drawer]) -> tuple[Chosen, ...]:
    """For each drawer the shims to take.

    A shim that was not read counts as nominal, and its uncertainty as a move in the wrong direction.

    Parameters
    ----------
    drawers : each with at least as many shims as are taken.
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    bands = drawers[0].effects.size if drawers else 0
    taken: list[dict[int, cp_model.IntVar]] = []
    others: list[cp_model.IntVar] = []
    moves: list[dict[cp_model.IntVar, int]] = [{} for _ in range(bands)]
    unsure: list[dict[cp_model.IntVar, int]] = [{} for _ in range(bands)]
    for place, drawer in enumerate(drawers):
        own = {
            reading: model.new_int_var(0, count, f"{place}: {reading}")
            for reading, count in Counter(drawer.readings).items()
        }
        other = model.new_int_var(0, drawer.unread, f"{place}: not read")
        model.add(cp_model.LinearExpr.sum([*own.values(), other]) == drawer.taken)
        for band, effect in enumerate(drawer.effects.tolist()):
            moves[band] |= {n: round(SCALE * effect * (r - drawer.counted)) for r, n in own.items()}
            unsure[band][other] = round(SCALE * abs(effect) * drawer.uncertainty)
        taken.append(own)
        others.append(other)
    most = 1000 * round(SCALE)
    worst = model.new_int_var(0, most, "worst")
    sizes = [model.new_int_var(0, most, f"size of {band}") for band in range(bands)]
    for size, move, spread in zip(sizes, moves, unsure, strict=True):
        for sign in (1, -1):
            terms = {n: sign * weight for n, weight in move.items()} | spread
            model.add(cp_model.LinearExpr.weighted_sum([*terms], [*terms.values()]) <= size)
        model.add(size <= worst)
    # The largest move counts first; of equal ones the sum of all.
    settled = least_in_turn(model, (worst, cp_model.LinearExpr.sum(sizes)), seconds=SECONDS)
    if settled.solver is None:
        raise ValueError("a drawer has fewer shims than are taken")
    solver = settled.solver
    return tuple(
        Chosen(
            tuple(sorted(reading for reading, n in own.items() for _ in range(solver.value(n)))),
            solver.value(other),
        )
        for own, other in zip(taken, others, strict=True)
    )
