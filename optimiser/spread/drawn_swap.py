"""Drawn dampers whose oil, gas, bleed or ring becomes another: as they were, and with the other parts."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from optimiser.spread.directions import Directions
from optimiser.spread.drawn_forces import Built, DrawnForces
from optimiser.unknowns.knowledge import Key, Knowledge, key_of
from optimiser.unknowns.unknown import Unknown

Floats = NDArray[np.float64]

NEW_PART = "of the part that comes in"
"""Follows the words of a figure that is unknown of the old part and of the new one."""


class DrawnSwap:
    """Forces of one sample of drawn dampers, before and after parts besides shims are swapped.

    Of a part that is swapped the old one says nothing of the new one: another oil has an error of its own.
    All else is the same damper.

    Parameters
    ----------
    old : the damper as it is, drawn along its directions.
    described : makes the damper with the other parts, to be drawn along directions that it is given.
    known : what is known of the figures of that one, without a fit.
    swapped : figures of the parts that come in, by what they are told by.

    Attributes
    ----------
    directions : of both: those of the old damper, then the figures of what comes in.
    """

    def __init__(
        self,
        old: DrawnForces,
        described: Callable[[Directions], DrawnForces],
        known: Knowledge,
        *,
        swapped: Collection[Key],
    ) -> None:
        own, new = old.directions, Directions.of(known)
        there = {key_of(one): place for place, one in enumerate(own.unknowns)}
        fresh = [one for one in known.unknowns if key_of(one) in swapped or key_of(one) not in there]
        self._old, self._new = old, described(new)
        self._from = [
            len(own.unknowns) + fresh.index(one) if one in fresh else there[key_of(one)]
            for one in known.unknowns
        ]
        places = [known.unknowns.index(one) for one in fresh]
        self.directions = Directions(
            unknowns=(*own.unknowns, *map(_named, fresh)),
            mean=np.append(own.mean, np.zeros(len(fresh))),
            axes=_beside(own.axes, len(fresh)),
            even=np.append(own.even, new.even[places]),
            limited=own.limited,
        )
        self._own = len(own)

    def logs(
        self, steps: Floats, builds: Sequence[Built], *, tell: Callable[[int], None] = lambda _: None
    ) -> Floats:
        """Logarithm of the damping force (draws, builds, velocities), as of :class:`DrawnForces`. [N]"""
        drawn = self.directions.mean + steps @ self.directions.axes
        before = [place for place, one in enumerate(builds) if one.before]
        after = [place for place, one in enumerate(builds) if not one.before]
        found: dict[int, Floats] = {}
        for places, forces, of_them in (
            (before, self._old, steps[:, : self._own]),
            (after, self._new, drawn[:, self._from]),
        ):
            if places:
                logs = forces.logs(of_them, [builds[place] for place in places], tell=tell)
                found |= {place: logs[:, row] for row, place in enumerate(places)}
        return np.stack([found[place] for place in range(len(builds))], axis=1)


def _named(one: Unknown) -> Unknown:
    return replace(one, words=f"{one.words} {NEW_PART}")


def _beside(axes: Floats, further: int) -> Floats:
    """Axes with so many more figures, each a direction of its own."""
    rows, columns = axes.shape
    found = np.zeros((rows + further, columns + further))
    found[:rows, :columns] = axes
    found[rows:, columns:] = np.eye(further)
    return found
