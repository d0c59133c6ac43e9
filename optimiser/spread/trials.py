"""A damper with its unknown figures moved one direction at a time: what thousands of draws are made from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.damper import Damper
from damping_model.errors import ModelError
from damping_model.stack.steel import SpringSteel
from optimiser.spread.directions import Directions
from optimiser.unknowns.unknown import RECTANGULAR_END, Owner
from optimiser.unknowns.varied import OF_SHIMS, VariedDamper, varied

Floats = NDArray[np.float64]

STEPS: Final = (1.0, 2.5)
"""Steps up and down a normal direction. [-]"""

STEPS_BETWEEN_LIMITS: Final = (RECTANGULAR_END / 2, RECTANGULAR_END)
"""The same where a figure lies evenly between limits. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """What is tried along one direction.

    Parameters
    ----------
    direction : which.
    steps : rising, without 0; those at which no such damper can be are left out (steps,). [-]
    dampers : at each of them.
    limits : least and most step that is followed: where no damper can be further out, a draw stands there.
    owners : whose figures it moves.
    """

    direction: int
    steps: Floats
    dampers: tuple[VariedDamper, ...]
    limits: tuple[float, float]
    owners: frozenset[Owner | str]

    def weights(self, steps: Floats) -> Floats:
        """Weight of each tried step at any steps: straight lines between them and 0 (draws, steps)."""
        within = np.clip(steps, *self.limits)
        knots = np.sort(np.append(self.steps, 0.0))
        places = np.clip(np.searchsorted(knots, within) - 1, 0, knots.size - 2)
        part = (within - knots[places]) / (knots[places + 1] - knots[places])
        found = np.zeros((within.size, knots.size))
        rows = np.arange(within.size)
        found[rows, places], found[rows, places + 1] = 1 - part, part
        return np.delete(found, int(np.searchsorted(knots, 0.0)), axis=1)


@dataclass(frozen=True, slots=True, eq=False)
class TriedTogether:
    """What is tried along two directions at once.

    Parameters
    ----------
    places : of the two among those that are tried along one.
    steps : in either. [-]
    damper : there.
    """

    places: tuple[int, int]
    steps: tuple[float, float]
    damper: VariedDamper


@dataclass(frozen=True, slots=True, eq=False)
class Trials:
    """The damper with no step at all, and along each direction that moves it or its shims.

    Parameters
    ----------
    middle : with every figure where it most likely is.
    along : of the directions.
    together : of each two thicknesses: a thicker shim does less beside others that are thicker too.
    """

    middle: VariedDamper
    along: tuple[Trial, ...]
    together: tuple[TriedTogether, ...] = ()

    @classmethod
    def of(cls, damper: Damper, directions: Directions, *, steel: SpringSteel) -> Trials:
        """Move a damper.

        Raises
        ------
        ModelError
            When there can be no damper with every figure where it most likely is.
        """
        middle = varied(damper, directions.draws({}), steel=steel)
        along = []
        for direction in range(len(directions)):
            steps = STEPS_BETWEEN_LIMITS if directions.even[direction] else STEPS
            known: dict[float, VariedDamper] = {}
            limits = [-np.inf, np.inf]
            for side, sign in enumerate((-1.0, 1.0)):
                for step in steps:
                    try:
                        found = varied(damper, directions.draws({direction: sign * step}), steel=steel)
                    except ModelError:
                        inside = [at for at in known if sign * at > 0]
                        limits[side] = max(inside, key=abs, default=0.0)
                        break
                    known[sign * step] = found
            ordered = sorted(known)
            if ordered:
                dampers = tuple(known[at] for at in ordered)
                owners = frozenset(
                    one.owner
                    for one, part in zip(directions.unknowns, directions.axes[direction], strict=True)
                    if part != 0
                )
                along.append(Trial(direction, np.array(ordered), dampers, (limits[0], limits[1]), owners))
        return cls(middle, tuple(along), tuple(_together(damper, directions, along, steel)))


def _together(
    damper: Damper, directions: Directions, along: Sequence[Trial], steel: SpringSteel
) -> Iterator[TriedTogether]:
    """Each two thicknesses a first step up at once, where such a damper can be."""
    shims = [place for place, trial in enumerate(along) if trial.owners <= OF_SHIMS and trial.steps[-1] > 0]
    for places in combinations(shims, 2):
        steps = tuple(float(along[place].steps[along[place].steps > 0][0]) for place in places)
        moved = {along[place].direction: step for place, step in zip(places, steps, strict=True)}
        try:
            yield TriedTogether(
                places, (steps[0], steps[1]), varied(damper, directions.draws(moved), steel=steel)
            )
        except ModelError:
            continue
