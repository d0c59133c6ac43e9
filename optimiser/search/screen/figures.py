"""Figures of sets of shims, for all of a shape together: what may be built, and what the force depends on.

Most of them are sums over shims, so those of what stays serve for all, and what the few that move add to
them is all that is left to do. What a stack has to keep besides is asked of single stacks, of the few that a
screen leaves.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from typing import Final, NamedTuple

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

SLOT_FIGURES: Final = 3
"""Figures of a slot. [-]"""

GAP_FIGURES, HEIGHT, WIDEST = 5, 0, 2
"""Figures of a gap, and which of them are its height and its widest shim. [-]"""

NO_SHIM: Final = 1 << 40
"""Diameter that stands for no shim where the narrowest is looked for. [um]"""


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
    """

    def __init__(self, shape: Shape, data: ProblemData, goal: Goal) -> None:
        self._shape, self._goal, self._rules = shape, goal, data.rules
        self._leaving, self._coming = sites_of(shape.leaving), sites_of(shape.coming)
        self._outer = np.array([slot.outer for slot in shape.slots])
        self._run = np.array([slot.run for slot in shape.slots])
        sites = (*self._leaving, *self._coming)
        stiff = [site.properties.bending for site in sites if site.properties.bending > 0]
        self._least_bending = min(stiff, default=1.0)
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

        Bending stiffness and height of each slot, and the logarithm of the stiffness of all slots up to it:
        wherever the wider ones reach they resist together, so that the compliance of a stack goes by the
        inverse of these sums. Of each crossover's gap its height, the logarithm of that, the widest shim in
        it, width times height, and the shim that it holds off.
        """
        parts = [self._inputs(members.only(part)) for part in _parts(len(members))]
        return np.concatenate(parts)

    def crossovers(self, inputs: Floats) -> Crossovers:
        """Kinds of crossovers of members with these inputs: gaps as high that begin as wide."""
        gaps = inputs[:, SLOT_FIGURES * len(self._shape.slots) :].reshape(
            len(inputs), self._shape.runs - 1, GAP_FIGURES
        )
        kinds = np.concatenate([np.round(gaps[:, :, HEIGHT] / MICROMETRE), gaps[:, :, WIDEST]], axis=1)
        figures, of = np.unique(kinds, axis=0, return_inverse=True)
        return Crossovers(of.reshape(-1), figures)

    def _allowed(self, members: MemberTable) -> Flags:
        rows = len(members)
        left = np.zeros((rows, len(self._leaving)))
        _add(left, members.outs, range(len(self._leaving)), np.ones(len(self._leaving)))
        good = (left <= self._left).all(axis=1)
        used = np.tile(self._used, (rows, 1))
        _add(used, members.ins, *self._types_of(self._coming, 1.0))
        _add(used, members.outs, *self._types_of(self._leaving, -1.0))
        good &= (used <= self._available).all(axis=1)
        height = np.full((rows, 1), self._shape.base_height)
        _add(height, members.ins, [0] * len(self._coming), _each(self._coming, _height))
        _add(height, members.outs, [0] * len(self._leaving), -_each(self._leaving, _height))
        rounding = MICROMETRE / 2
        good &= height[:, 0] >= self._goal.least_height - rounding
        good &= height[:, 0] <= self._goal.most_height + rounding
        return np.asarray(good & self._keeps_rules(self._filled(members)))

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
        bending = self._in_slots(members, lambda one: one.bending)
        height = self._in_slots(members, _height)
        together = np.log(np.cumsum(bending, axis=1) + self._least_bending)
        columns, filled = [bending, height, together], self._filled(members)
        wide, _ = self._ends(filled)
        for k in range(self._shape.runs - 1):
            own, held_off = self._run == k, wide[:, k + 1]
            within = filled[:, own] & (self._outer[own] < held_off[:, None])
            gap = np.where(within, height[:, own], 0.0).sum(axis=1)
            widest = np.where(within, self._outer[own], 0).max(axis=1)
            log = np.log(np.maximum(gap, MICROMETRE))
            columns.append(np.stack([gap, log, widest, widest * gap, held_off], axis=1))
        return np.concatenate(columns, axis=1)

    def _in_slots(self, members: MemberTable, figure: Callable[[PlateProperties], float]) -> Floats:
        """A figure of the shims in each slot, added up (members, slots)."""
        found = np.tile([sum(map(figure, slot.properties)) for slot in self._shape.slots], (len(members), 1))
        for moved, sites, sign in (
            (members.outs, self._leaving, -1.0),
            (members.ins, self._coming, 1.0),
        ):
            _add(found, moved, [site.place for site in sites], sign * _each(sites, figure))
        return found

    def _filled(self, members: MemberTable) -> Flags:
        """Which slots have a shim in them (members, slots)."""
        return self._in_slots(members, lambda _: 1.0) > 0

    def _ends(self, filled: Flags) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Widest and narrowest diameter in each run, 0 for an empty one (members, runs). [um]"""
        wide, narrow = [], []
        for k in range(self._shape.runs):
            own, outer = filled[:, self._run == k], self._outer[self._run == k]
            wide.append(np.where(own, outer, 0).max(axis=1))
            least = np.where(own, outer, NO_SHIM).min(axis=1)
            narrow.append(np.where(least == NO_SHIM, 0, least))
        return np.stack(wide, axis=1), np.stack(narrow, axis=1)

    def _types_of(self, sites: Sequence[Site], amount: float) -> tuple[list[int], Floats]:
        """Place of each site's type, and an amount for it: nothing for a type of which none comes."""
        places = {key: place for place, key in enumerate(self._types)}
        amounts = np.array([amount if site.key in places else 0.0 for site in sites])
        return [places.get(site.key, 0) for site in sites], amounts


def _add(found: Floats, moved: NDArray[np.int16], columns: Sequence[int], amounts: Floats) -> None:
    """Add in place, for each site that moves, its amount in its column (members, columns)."""
    rows = np.arange(len(moved))
    # what stands for no shim points at the last
    column, amount = np.append(columns, 0).astype(np.intp), np.append(amounts, 0.0)
    for places in moved.T:  # no member comes twice in one of these
        found[rows, column[places]] += amount[places]


def _parts(count: int) -> list[NDArray[np.intp]]:
    return [np.arange(start, min(start + AT_ONCE, count)) for start in range(0, max(count, 1), AT_ONCE)]


def _each(sites: Sequence[Site], figure: Callable[[PlateProperties], float]) -> Floats:
    return np.array([figure(site.properties) for site in sites])


def _height(one: PlateProperties) -> float:
    return one.height
