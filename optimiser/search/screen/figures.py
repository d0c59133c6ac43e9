"""Figures of sets of shims, for all of a shape together: what may be built, and what the force depends on.

Most of them are sums over shims, so one product of matrices gives them. What a stack has to keep besides is
asked of single stacks, of the few that a screen leaves.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.units import MICROMETRE
from optimiser.model.goal import Goal
from optimiser.model.rules import ClampShimStays, CrossoverWideEnough, DiametersFall
from optimiser.search.screen.member_table import MemberTable, sites_of
from optimiser.search.space.problem_data import ProblemData
from optimiser.search.space.shape import Shape
from optimiser.search.space.sites import PlateProperties, Site

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

AT_ONCE: Final = 16_384
"""Members whose figures are worked out at a time. [-]"""

GAP_FIGURES, HEIGHT, WIDEST = 5, 0, 2
"""Figures of a gap, and which of them are its height and its widest shim. [-]"""

NO_SHIM: Final = 1 << 40
"""Diameter that stands for no shim where the narrowest is looked for. [um]"""


class ShapeFigures:
    """Figures of the members of one shape.

    Parameters
    ----------
    shape : whose.
    data : the problem.
    goal : with the range of heights.
    """

    def __init__(self, shape: Shape, data: ProblemData, goal: Goal) -> None:
        self._shape, self._goal, self._rules = shape, goal, data.rules
        self._leaving, self._coming = sites_of(shape.leaving), sites_of(shape.coming)
        self._outer = np.array([slot.outer for slot in shape.slots])
        self._run = np.array([slot.run for slot in shape.slots])
        self._types = sorted({site.key for site in self._coming})
        self._left = np.array([site.count for site in self._leaving])
        self._available = np.array([data.available[key] for key in self._types])
        kept = Counter(key for slot in shape.slots for key in (*slot.before, *slot.kept, *slot.after))
        self._used = np.array([float(kept[key]) for key in self._types])

    def allowed(self, members: MemberTable) -> Flags:
        """Which of them have the shims, are as high as they may be, and rise as often as their shape."""
        parts = [self._allowed(members.only(part)) for part in _parts(len(members))]
        return np.concatenate(parts)

    def inputs(self, members: MemberTable) -> Floats:
        """What the force depends on (members, figures).

        Bending stiffness and height of each slot; of each crossover's gap its height, the logarithm of that,
        the widest shim in it, width times height, and the shim that it holds off.
        """
        parts = [self._inputs(members.only(part)) for part in _parts(len(members))]
        return np.concatenate(parts)

    def crossovers(self, inputs: Floats) -> NDArray[np.intp]:
        """A number for each kind of crossover: gaps as high that begin as wide (members,)."""
        gaps = inputs[:, 2 * len(self._shape.slots) :].reshape(len(inputs), self._shape.runs - 1, GAP_FIGURES)
        kinds = np.concatenate([np.round(gaps[:, :, HEIGHT] / MICROMETRE), gaps[:, :, WIDEST]], axis=1)
        return np.asarray(np.unique(kinds, axis=0, return_inverse=True)[1].reshape(-1))

    def _allowed(self, members: MemberTable) -> Flags:
        outs, ins = members.counts()
        good = (outs <= self._left).all(axis=1)
        used = self._used + self._by_type(ins, self._coming) - self._by_type(outs, self._leaving)
        good &= (used <= self._available).all(axis=1)
        height = self._shape.base_height + ins @ _each(self._coming, _height) - outs @ _each(
            self._leaving, _height
        )  # fmt: skip
        rounding = MICROMETRE / 2
        good &= height >= self._goal.least_height - rounding
        good &= height <= self._goal.most_height + rounding
        return np.asarray(good & self._keeps_rules(self._filled(outs, ins)))

    def _keeps_rules(self, filled: Flags) -> Flags:
        """Which sets rise as often as their shape, and break no rule that diameters alone can break."""
        wide, narrow = self._ends(filled)
        good = ((narrow[:, :-1] > 0) & (wide[:, 1:] > narrow[:, :-1])).all(axis=1)
        good &= wide[:, 0] >= self._shape.least_face
        for rule in self._rules:
            if isinstance(rule, DiametersFall):  # none is wider than all that lie before it
                before = np.maximum.accumulate(wide, axis=1)[:, :-1]
                good &= (wide[:, 1:] <= before).all(axis=1)
            elif isinstance(rule, CrossoverWideEnough):
                least = round(rule.least / MICROMETRE)
                for k in range(self._shape.runs - 1):
                    within = filled[:, self._run == k] & (self._outer[self._run == k] < least)
                    good &= ~within.any(axis=1)
            elif isinstance(rule, ClampShimStays):
                good &= narrow[:, -1] == rule.clamp_shim.outer
        return np.asarray(good)

    def _inputs(self, members: MemberTable) -> Floats:
        outs, ins = members.counts()
        bending = self._in_slots(outs, ins, lambda one: one.bending)
        height = self._in_slots(outs, ins, _height)
        columns, filled = [bending, height], self._filled(outs, ins)
        wide, _ = self._ends(filled)
        for k in range(self._shape.runs - 1):
            own, held_off = self._run == k, wide[:, k + 1]
            within = filled[:, own] & (self._outer[own] < held_off[:, None])
            gap = np.where(within, height[:, own], 0.0).sum(axis=1)
            widest = np.where(within, self._outer[own], 0).max(axis=1)
            log = np.log(np.maximum(gap, MICROMETRE))
            columns.append(np.stack([gap, log, widest, widest * gap, held_off], axis=1))
        return np.concatenate(columns, axis=1)

    def _in_slots(self, outs: Floats, ins: Floats, figure: Callable[[PlateProperties], float]) -> Floats:
        """A figure of the shims in each slot, added up (members, slots)."""
        found = np.tile([sum(map(figure, slot.properties)) for slot in self._shape.slots], (len(outs), 1))
        for counts, sites, sign in ((outs, self._leaving, -1.0), (ins, self._coming, 1.0)):
            table = np.zeros((len(sites), len(self._shape.slots)))
            table[np.arange(len(sites)), [site.place for site in sites]] = _each(sites, figure)
            found += sign * (counts @ table)
        return np.asarray(found)

    def _filled(self, outs: Floats, ins: Floats) -> Flags:
        """Which slots have a shim in them (members, slots)."""
        return self._in_slots(outs, ins, lambda _: 1.0) > 0

    def _ends(self, filled: Flags) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Widest and narrowest diameter in each run, 0 for an empty one (members, runs). [um]"""
        wide, narrow = [], []
        for k in range(self._shape.runs):
            own, outer = filled[:, self._run == k], self._outer[self._run == k]
            wide.append(np.where(own, outer, 0).max(axis=1))
            least = np.where(own, outer, NO_SHIM).min(axis=1)
            narrow.append(np.where(least == NO_SHIM, 0, least))
        return np.stack(wide, axis=1), np.stack(narrow, axis=1)

    def _by_type(self, counts: Floats, sites: Sequence[Site]) -> Floats:
        """Shims of each type (members, types)."""
        places = {key: place for place, key in enumerate(self._types)}
        table = np.zeros((len(sites), len(self._types)))
        for row, site in enumerate(sites):
            if site.key in places:
                table[row, places[site.key]] = 1.0
        return np.asarray(counts @ table)


def _parts(count: int) -> list[NDArray[np.intp]]:
    return [np.arange(start, min(start + AT_ONCE, count)) for start in range(0, max(count, 1), AT_ONCE)]


def _each(sites: Sequence[Site], figure: Callable[[PlateProperties], float]) -> Floats:
    return np.array([figure(site.properties) for site in sites])


def _height(one: PlateProperties) -> float:
    return one.height
