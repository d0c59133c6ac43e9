"""Forces of one stack held against the limits of a goal together with each of what others may add."""

from __future__ import annotations

from math import inf, log

import numpy as np
from numpy.typing import NDArray

from optimiser.search.kernel.jit import ENTRY

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@ENTRY
def beyond_together(
    low: Floats, high: Floats, least_added: Floats, most_added: Floats, lower: Floats, upper: Floats,
    weights: Floats, parts: Ints, least: Floats, most: Floats, least_force: float,
) -> Floats:  # fmt: skip
    """Share of the force by which each surely misses a limit with every addition; below 0 where it may not.

    It is that of the addition which brings it nearest, and any that keeps all limits ends the search for it.

    Parameters
    ----------
    low, high : below and above the forces of each stack (stacks, velocities). [N]
    least_added, most_added : below and above what each addition does (additions, velocities). [N]
    lower, upper : limits at each velocity, above 0 (velocities,). [N]
    weights, parts : weights of averages (velocities,), first and last but one velocity of each (averages, 2).
    least, most : limits of each mean logarithm of force (averages,). [-]
    least_force : forces below it count as it. [N]
    """
    found = np.empty(low.shape[0])
    for k in range(low.shape[0]):
        nearest = inf
        for s in range(least_added.shape[0]):
            worst = -1.0
            for j in range(low.shape[1]):
                above = (low[k, j] + least_added[s, j]) / upper[j] - 1.0
                below = 1.0 - (high[k, j] + most_added[s, j]) / lower[j]
                worst = max(worst, above, below)
                if worst >= nearest:
                    break
            for part in range(parts.shape[0] if worst < nearest else 0):
                at_least = at_most = 0.0
                for j in range(parts[part, 0], parts[part, 1]):
                    at_least += weights[j] * log(max(low[k, j] + least_added[s, j], least_force))
                    at_most += weights[j] * log(max(high[k, j] + most_added[s, j], least_force))
                worst = max(worst, at_least - most[part], least[part] - at_most)
            nearest = min(nearest, worst)
            if nearest < 0.0:
                break
        found[k] = nearest
    return found
