"""The two stacks that bound a family: one that no member is softer than, one that none is stiffer than.

The model is monotone: force never falls when a plate is made stiffer, nor when a gap is made smaller, and a
shim is never made stiffer by being narrower while its gaps stay the same. So one stack is no softer than
another when, behind equal gaps, its plates wider than any radius amount to no less stiffness. Of shims that
come to some of several places the stiff end gets, from the widest on, as much as any choice brings so far;
the soft end as little, which is all of it at the narrowest. Of shims that leave, likewise: the soft end
loses, from the widest on, as much as any choice takes so far.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.packs import Pack, PackedStack
from optimiser.search.kernel.extremes import soft_end, stiff_end
from optimiser.search.space.family import Family


def stiffest(family: Family) -> PackedStack:
    """No member of a family gives more force than this stack."""
    return _plates(family, *stiff_end(family.shape.table, family.table))


def softest(family: Family) -> PackedStack | None:
    """No member of a family gives less force than this stack; None when no face shim is sure to be there."""
    rows, places, thickness = soft_end(family.shape.table, family.table)
    return _plates(family, rows, places, thickness) if len(rows) else None


def _plates(
    family: Family, rows: NDArray[np.float64], places: NDArray[np.int64], thickness: float
) -> PackedStack:
    """Rows as plates, with the rings of the slots that they lie in."""
    pattern, laid = family.shape.pattern, places.tolist()
    rings = tuple(
        ring._replace(centring=laid.index(place))
        for place, ring in family.shape.rings.items()
        if place in laid
    )
    packs = tuple(map(Pack._make, rows.tolist()))
    return PackedStack(packs, rings, pattern.poisson_ratio, thickness, pattern.indentation, pattern.thin)
