"""The same shims in another order of their packs: a last step towards a goal that one order just misses."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.search.evaluator import Accuracy, Evaluator, Request, log_of
from optimiser.search.primal.surrogate import Distances

Floats = NDArray[np.float64]

MOST_ORDERS: Final = 16
"""Orders of one stack that are evaluated coarsely. [-]"""


def nearer_order(
    orders: Sequence[Stack], exact: Floats, *, evaluator: Evaluator, metrics: Distances, setting: int
) -> tuple[Stack, Floats] | None:
    """The order that should come nearest to the goal, with its exact forces; None when none comes nearer.

    Orders differ by little, so what the coarse force of one is off by goes for all.

    Parameters
    ----------
    orders : of one stack, the first with known forces.
    exact : forces of the first. [N]
    evaluator, metrics, setting : what asks the physics, figures of the goal, and the adjusters' setting.
    """
    if len(orders) < 2 or metrics.misfit(exact) == 0:
        return None
    packed = [evaluator.physics.packed(one) for one in orders[: MOST_ORDERS + 1]]
    requests = [Request(plates, setting, Accuracy.COARSE) for plates in packed]
    first, *others = evaluator.evaluate(requests)
    if first is None:
        return None
    off = log_of(exact) - log_of(first)
    misfits = [
        np.inf if forces is None else metrics.misfit(np.exp(log_of(forces) + off)) for forces in others
    ]
    best = int(np.argmin(misfits))
    if misfits[best] >= metrics.misfit(exact):
        return None
    forces = evaluator.exact_forces(packed[best + 1], setting)
    return None if forces is None else (orders[best + 1], forces)
