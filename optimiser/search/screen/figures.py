"""Figures of sets of shims, for all of a shape together: what may be built, and what the force depends on.

What a stack has to keep besides is asked of single stacks, of the few that a screen leaves.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.units import MICROMETRE
from optimiser.model.goal import Goal
from optimiser.model.rules import ClampShimStays, CrossoverWideEnough, DiametersFall
from optimiser.model.stock import ShimKey
from optimiser.search.kernel.sets import (
    GAP_FIGURES,
    SLOT_FIGURES,
    SetTable,
    SiteTable,
    allowed_sets,
    figures_of_sets,
)
from optimiser.search.screen.member_table import MemberTable, sites_of
from optimiser.search.space.problem_data import ProblemData
from optimiser.search.space.shape import Shape
from optimiser.search.space.sites import Site

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]

NO_END: Final = 1 << 30
"""So many there are of types of which none may come: these only leave. [-]"""

HEIGHT, WIDEST = 0, 2
"""Which figures of a gap are its height and its widest shim. [-]"""


class Crossovers(NamedTuple):
    """Which kind of crossovers each member has.

    Parameters
    ----------
    kinds : numbers of kinds (members,).
    figures : heights and widest shims of each kind's gaps (kinds, figures). [um]
    """

    kinds: NDArray[np.intp]
    figures: Floats


class ShapeFigures:
    """Figures of the members of one shape.

    Parameters
    ----------
    shape : whose.
    data : the problem.
    goal : with the range of heights.

    Attributes
    ----------
    table : the shape as arrays.
    """

    def __init__(self, shape: Shape, data: ProblemData, goal: Goal) -> None:
        self._slots, self._gaps = len(shape.slots), shape.runs - 1
        self.table = set_table(shape, data, goal)

    def allowed(self, members: MemberTable) -> Flags:
        """Which of them have the shims, are as high as they may be, and rise as often as their shape."""
        found = np.empty(len(members), np.bool_)
        allowed_sets(members.outs, members.ins, self.table, found)
        return found

    def inputs(self, members: MemberTable) -> Floats:
        """What the force depends on (members, figures).

        Bending stiffness and height of each slot, and the logarithm of the stiffness of all slots up to it:
        wherever the wider ones reach they resist together, so that the compliance of a stack goes by the
        inverse of these sums. Of each crossover's gap its height, the logarithm of that, the widest shim in
        it, width times height, and the shim that it holds off.
        """
        found = np.empty((len(members), SLOT_FIGURES * self._slots + GAP_FIGURES * self._gaps))
        figures_of_sets(members.outs, members.ins, self.table, found)
        return found

    def crossovers(self, inputs: Floats) -> Crossovers:
        """Kinds of crossovers of members with these inputs: gaps as high that begin as wide."""
        gaps = [figure for gap in range(self._gaps) for figure in self._gap(inputs, gap)]
        rows = np.column_stack([np.zeros(len(inputs), np.int64), *gaps])  # a column where there is no gap
        seen, kinds = np.unique(rows, axis=0, return_inverse=True)
        return Crossovers(kinds.reshape(-1), seen[:, 1:].astype(float))

    def _gap(self, inputs: Floats, number: int) -> tuple[Ints, Ints]:
        """Height of a gap and its widest shim (members,). [um]"""
        first = SLOT_FIGURES * self._slots + GAP_FIGURES * number
        height = np.round(inputs[:, first + HEIGHT] / MICROMETRE)
        return height.astype(np.int64), inputs[:, first + WIDEST].astype(np.int64)


def set_table(shape: Shape, data: ProblemData, goal: Goal) -> SetTable:
    """A shape as arrays for compiled code."""
    leaving, coming = sites_of(shape.leaving), sites_of(shape.coming)
    types = {key: number for number, key in enumerate(sorted({site.key for site in coming}))}
    kept = Counter(key for slot in shape.slots for key in (*slot.before, *slot.kept, *slot.after))
    fall = any(isinstance(rule, DiametersFall) for rule in data.rules)
    wide = [rule.least for rule in data.rules if isinstance(rule, CrossoverWideEnough)]
    clamp = [rule.clamp_shim.outer for rule in data.rules if isinstance(rule, ClampShimStays)]
    stiff = [site.properties.bending for site in (*leaving, *coming) if site.properties.bending > 0]
    return SetTable(
        leaving=_site_table(leaving, types),
        coming=_site_table(coming, types),
        run=_ints(slot.run for slot in shape.slots),
        outer=_ints(slot.outer for slot in shape.slots),
        kept=_ints(len(slot.kept) for slot in shape.slots),
        bending=np.array([sum(one.bending for one in slot.properties) for slot in shape.slots]),
        height=np.array([sum(one.height for one in slot.properties) for slot in shape.slots]),
        runs=shape.runs,
        used=_ints([*(kept[key] for key in types), 0]),
        available=_ints([*(data.available[key] for key in types), NO_END]),
        base_height=shape.base_height,
        least_height=goal.least_height,
        most_height=goal.most_height,
        least_face=shape.least_face,
        falls=fall,
        least_crossover=round(max(wide, default=0.0) / MICROMETRE),
        clamp=max(clamp, default=0),
        least_bending=min(stiff, default=1.0),
    )


def _site_table(sites: Sequence[Site], types: Mapping[ShimKey, int]) -> SiteTable:
    return SiteTable(
        _ints(site.place for site in sites),
        _ints(types.get(site.key, len(types)) for site in sites),
        _ints(site.count for site in sites),
        np.array([site.properties.bending for site in sites], dtype=float),
        np.array([site.properties.height for site in sites], dtype=float),
    )


def _ints(numbers: Iterable[int]) -> Ints:
    return np.array(list(numbers), dtype=np.int64)
