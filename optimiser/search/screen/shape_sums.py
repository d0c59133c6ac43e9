"""What the shims of one shape do, added up for every way to take some out and put others in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimiser.search.kernel.sets import HEIGHT_ROUNDING, SetTable, SiteTable, rising_sets
from optimiser.search.kernel.sums import ROUNDING, WaysIn, WaysOut, WaySums, not_far_off, sums_of_ways
from optimiser.search.screen.additive_model import AdditiveModel

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Numbers = NDArray[np.intp]
Places = NDArray[np.int16]

AT_ONCE: Final = 50_000
"""Ways to put shims in that are looked at together. [-]"""

QUANTILES: Final = (0.25, 0.5, 0.75, 0.9, 0.97)
"""They are parted into groups by how well they are known, since a group is as wide as its worst. [-]"""

MOST_SLOTS: Final = 62
"""Slots that have a bit each; of shapes with more it is not looked at here how they rise. [-]"""


class SiteSums(NamedTuple):
    """What each shim adds that may leave, or come; the last is that of no shim.

    Parameters
    ----------
    missed : to violations (sites + 1, constraints).
    told : to what the standard deviation is made of (sites + 1, inputs).
    unlike : to what is 0 where nothing differs that is the same in all known members (sites + 1,).
    height : to the stack's (sites + 1,). [m]
    """

    missed: Floats
    told: Floats
    unlike: Floats
    height: Floats

    @classmethod
    def of(cls, sites: SiteTable, slots: int, model: AdditiveModel) -> SiteSums:
        """Those of the sites of a patch."""
        line = model.line
        steps = np.zeros((sites.place.size + 1, 2 * slots))
        rows = np.arange(sites.place.size)
        steps[rows, sites.place], steps[rows, slots + sites.place] = sites.bending, sites.height
        told = line.steps(steps)
        return cls(
            told @ model.slopes, told @ line.factor, line.unlike_steps(steps), np.append(sites.height, 0.0)
        )


class ShapeSums:
    """What the shims of one shape do to the constraints.

    Parameters
    ----------
    model : of how.
    table : the shape.
    """

    def __init__(self, model: AdditiveModel, table: SetTable) -> None:
        self._model, self._table, slots = model, table, table.run.size
        self._leaving = SiteSums.of(table.leaving, slots, model)
        self._coming = SiteSums.of(table.coming, slots, model)
        kept = np.concatenate([table.bending, table.height])[None]
        row = model.line.rows(kept)
        self._missed, self._told = row @ model.slopes, row @ model.line.factor
        self._unlike = model.line.unlike(kept)
        self._products = self._coming.told @ self._coming.told.T
        self._has_bits = slots <= MOST_SLOTS

    def not_far_off(
        self, outs: Places, ins: Places, *, near: float
    ) -> Iterator[tuple[Numbers, Numbers, Floats]]:
        """Ways out and ways in that together surely miss the goal by less than ``near``, some at a time.

        By their numbers; and the share of the force by which they miss it at least, below 0 where they may
        not.

        Parameters
        ----------
        outs, ins : places of what leaves and what comes (ways, most shims).
        near : share of the force. [-]
        """
        told = self._told - self._leaving.told[outs].sum(axis=1)
        filled, old = self._filled_by_old(outs)
        less = WaysOut(
            missed=self._missed - self._leaving.missed[outs].sum(axis=1),
            told=(told**2).sum(axis=1),
            crossed=told @ self._coming.told.T,
            centred=np.zeros(len(outs)),
            unlike=self._unlike - self._leaving.unlike[outs].sum(axis=1),
            height=self._table.base_height - self._leaving.height[outs].sum(axis=1),
            filled=filled,
        )
        for first in range(0, len(ins), AT_ONCE):
            more, order, new, middle = self._ways_in(ins[first : first + AT_ONCE])
            centred = np.sqrt(((told + middle) ** 2).sum(axis=1))
            rising = np.ones((len(old), len(new)), np.bool_)
            if self._has_bits:
                rising_sets(old, new, self._table, rising)
            out, put_in, excess = not_far_off(
                less._replace(centred=centred),
                more,
                self._model.margins,
                rising,
                self._table.least_height - HEIGHT_ROUNDING,
                self._table.most_height + HEIGHT_ROUNDING,
                near,
            )
            yield out, first + order[put_in], excess

    def _ways_in(self, ins: Places) -> tuple[WaysIn, Numbers, Ints, Floats]:
        """Ways in, their order, the sets of slots that they fill, and the middle of what they tell."""
        sums = self._coming
        sites = ins.astype(np.int64)
        sites[sites < 0] = len(sums.height) - 1
        shares = np.bincount(sites.ravel(), minlength=len(sums.height)) / max(len(sites), 1)
        middle = shares @ sums.told
        found = WaySums(
            np.zeros((len(sites), sums.missed.shape[1])), *(np.zeros(len(sites)) for _ in range(4))
        )
        along = np.append(sums.told @ middle, middle @ middle)
        sums_of_ways(sites, sums.missed, self._products, along, sums.unlike, sums.height, found)
        centred = np.sqrt(found.apart)
        groups = np.searchsorted(np.quantile(centred, QUANTILES), centred)
        groups[np.abs(found.unlike) > ROUNDING] = len(QUANTILES) + 1
        order = np.lexsort((found.missed[:, 0], groups))
        filled, new = self._filled_by_new(sites)
        ways = WaysIn(
            sites=sites[order],
            missed=found.missed[order],
            told=found.told[order],
            centred=centred[order],
            unlike=found.unlike[order],
            height=found.height[order],
            filled=filled[order],
            begins=np.searchsorted(groups[order], np.arange(len(QUANTILES) + 3)),
        )
        return ways, order, new, middle

    def _filled_by_old(self, outs: Places) -> tuple[Ints, Ints]:
        """Number of the set of slots that each way out leaves filled, and these sets, a bit for each slot."""
        if not self._has_bits:
            return np.zeros(len(outs), np.int64), np.zeros(1, np.int64)
        counts = np.tile(self._table.kept, (len(outs), 1))
        rows, columns = np.nonzero(outs >= 0)
        np.subtract.at(counts, (rows, self._table.leaving.place[outs[rows, columns]]), 1)
        bits = (np.int64(1) << np.arange(counts.shape[1])) * (counts > 0)
        sets, numbers = np.unique(bits.sum(axis=1), return_inverse=True)
        return numbers, sets

    def _filled_by_new(self, sites: Ints) -> tuple[Ints, Ints]:
        """The same of ways in."""
        if not self._has_bits:
            return np.zeros(len(sites), np.int64), np.zeros(1, np.int64)
        bits = np.append(np.int64(1) << self._table.coming.place, 0)[sites]
        sets, numbers = np.unique(np.bitwise_or.reduce(bits, axis=1), return_inverse=True)
        return numbers, sets
