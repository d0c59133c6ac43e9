"""What shims do, added up: which ways to take some out and put others in may keep all constraints."""

from __future__ import annotations

from math import inf, sqrt
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimiser.search.kernel.jit import ENTRY, PART

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]

ROUNDING: Final = 1e-9
"""Sums of figures that come to nothing are off it by less. [-]"""


class WaysOut(NamedTuple):
    """Ways to take shims out, and what is kept besides.

    Parameters
    ----------
    missed : violations of the constraints without what leaves (ways, constraints).
    told : squared length of what a standard deviation is made of (ways,).
    crossed : its product with that of each shim that may come (ways, sites + 1).
    centred : its length, from the middle of what comes (ways,).
    unlike : 0 where nothing differs that is the same in all known members (ways,).
    height : without what leaves (ways,). [m]
    filled : number of the set of slots that are not empty (ways,).
    """

    missed: Floats
    told: Floats
    crossed: Floats
    centred: Floats
    unlike: Floats
    height: Floats
    filled: Ints


class WaysIn(NamedTuple):
    """Ways to put shims in, in groups, each in the order of the first constraint.

    Parameters
    ----------
    sites : places of the shims, the last for none (ways, most shims).
    missed, told, centred, unlike, height, filled : what they add to those of :class:`WaysOut`.
    begins : where groups begin and the last ends (groups + 1,).
    """

    sites: Ints
    missed: Floats
    told: Floats
    centred: Floats
    unlike: Floats
    height: Floats
    filled: Ints
    begins: Ints


class WaySums(NamedTuple):
    """What the shims of each way come to.

    Parameters
    ----------
    missed : violations (ways, constraints).
    told : squared length of what a standard deviation is made of (ways,).
    apart : the same from some middle (ways,).
    unlike, height : as in :class:`WaysOut` (ways,).
    """

    missed: Floats
    told: Floats
    apart: Floats
    unlike: Floats
    height: Floats


class Margins(NamedTuple):
    """How far violations may be wrong.

    Parameters
    ----------
    per_deviation : for each standard deviation of a prediction (constraints,).
    errors : besides (constraints,).
    """

    per_deviation: Floats
    errors: Floats


@PART
def _excess(
    missed: Floats, added: Floats, i: int, j: int, per_deviation: Floats, errors: Floats, deviation: float
) -> float:
    """Share of the force by which one surely violates a constraint; -1 where it may violate none."""
    most = -1.0
    for k in range(errors.size):
        most = max(most, missed[i, k] + added[j, k] - errors[k] - per_deviation[k] * deviation)
    return most if most >= 0.0 else -1.0


@ENTRY
def sums_of_ways(
    sites: Ints, missed: Floats, products: Floats, middle: Floats, unlike: Floats, height: Floats,
    found: WaySums,
) -> None:  # fmt: skip
    """Add up what the shims of each way do.

    Parameters
    ----------
    sites : of each way (ways, most shims).
    missed, unlike, height : what each shim adds (sites, constraints), (sites,), (sites,).
    products : of what each and each other shim tells (sites, sites).
    middle : product of it with the middle, then the middle's own (sites + 1,).
    found : where it is put, all of it nothing before.
    """
    violations, told, apart = found.missed, found.told, found.apart
    for i in range(sites.shape[0]):
        apart[i] = middle[-1]
        for k in range(sites.shape[1]):
            site = sites[i, k]
            for constraint in range(missed.shape[1]):
                violations[i, constraint] += missed[site, constraint]
            found.unlike[i] += unlike[site]
            found.height[i] += height[site]
            told[i] += products[site, site]
            apart[i] -= 2.0 * middle[site]
            for other in range(k):
                told[i] += 2.0 * products[site, sites[i, other]]
        apart[i] = max(apart[i] + told[i], 0.0)


@ENTRY
def not_far_off(
    less: WaysOut, more: WaysIn, margins: Margins, rising: Flags, least_height: float, most_height: float,
    near: float,
) -> tuple[Ints, Ints, Floats]:  # fmt: skip
    """Pairs of ways that miss all constraints by less than ``near``, and by how much at least.

    It is -1 where they may miss none. Left out besides are pairs that are too high or too low, and those that
    rise less or more often than their shape.

    Parameters
    ----------
    less, more : the ways.
    margins : of the constraints.
    rising : which sets of slots rise as they should, by what is filled of old and of new.
    least_height, most_height : that a stack may have. [m]
    near : share of the force, not less than zero.
    """
    # a table passed on to a part would be copied for every pair
    missed, crossed, sites, added = less.missed, less.crossed, more.sites, more.missed
    per_deviation, errors = margins.per_deviation, margins.errors
    found, room, groups = 0, 1024, more.begins.size - 1
    outs, ins, excess = np.empty(room, np.int64), np.empty(room, np.int64), np.empty(room)
    widest = np.zeros(groups)
    for group in range(groups):
        for j in range(more.begins[group], more.begins[group + 1]):
            widest[group] = max(widest[group], inf if abs(more.unlike[j]) > ROUNDING else more.centred[j])
    for i in range(missed.shape[0]):
        centred = inf if abs(less.unlike[i]) > ROUNDING else less.centred[i]
        for group in range(groups):
            reach = near + errors[0] + per_deviation[0] * sqrt(1.0 + (centred + widest[group]) ** 2)
            for j in range(more.begins[group], more.begins[group + 1]):
                if missed[i, 0] + added[j, 0] >= reach:
                    break
                if not rising[less.filled[i], more.filled[j]]:
                    continue
                if not least_height <= less.height[i] + more.height[j] <= most_height:
                    continue
                by = -1.0
                if abs(less.unlike[i] + more.unlike[j]) <= ROUNDING:
                    told = less.told[i] + more.told[j]
                    for k in range(sites.shape[1]):
                        told += 2.0 * crossed[i, sites[j, k]]
                    by = _excess(missed, added, i, j, per_deviation, errors, sqrt(1.0 + max(told, 0.0)))
                if by < near:
                    if found == room:
                        room *= 2
                        outs = np.append(outs, np.empty(found, np.int64))
                        ins = np.append(ins, np.empty(found, np.int64))
                        excess = np.append(excess, np.empty(found))
                    outs[found], ins[found], excess[found] = i, j, by
                    found += 1
    return outs[:found], ins[:found], excess[:found]
