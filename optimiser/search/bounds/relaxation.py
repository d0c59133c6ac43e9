"""The relaxation of a family: a stack that no member is softer than, and one that none is stiffer than.

The model is monotone: force never falls when a plate is made stiffer, nor when a gap is made smaller, and a
shim is never made stiffer by being narrower while its gaps stay the same. So one stack is no softer than
another when, behind equal gaps, its plates wider than any radius amount to no less stiffness. Neither stack
has to be buildable: the two bound the forces of all members, as a relaxed problem bounds an integer one.

Of shims that come to some of several places the stiffest stack gets, from the widest on, as much as any
choice brings so far; the softest as little, which is all of it at the narrowest. Of shims that leave,
likewise: the softest stack loses, from the widest on, as much as any choice takes so far.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.packs import PackedStack
from optimiser.search.kernel.extremes import softest_plates, stiffest_plates
from optimiser.search.space.family import Family


def stiffest(family: Family) -> PackedStack:
    """No member of a family gives more force than this stack."""
    return _packed(family, *stiffest_plates(family.shape.table, family.table))


def softest(family: Family) -> PackedStack | None:
    """No member of a family gives less force than this stack; None when no face shim is sure to be there."""
    rows, places, thickness = softest_plates(family.shape.table, family.table)
    return _packed(family, rows, places, thickness) if len(rows) else None


def _packed(
    family: Family, rows: NDArray[np.float64], places: NDArray[np.int64], thickness: float
) -> PackedStack:
    """Rows as plates, with the rings of the slots that they lie in."""
    pattern, slots = family.shape.pattern, places.tolist()
    rings = tuple(
        ring._replace(centring=slots.index(place))
        for place, rings_here in family.shape.rings.items()
        if place in slots
        for ring in rings_here
    )
    return PackedStack(rows, rings, pattern.poisson_ratio, thickness, pattern.indentation, pattern.thin)
