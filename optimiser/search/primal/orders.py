"""The same shims in another order of their packs: a last step towards a goal that one order just misses."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.search.evaluator import Accuracy, Evaluator, Request, log_of
from optimiser.search.primal.surrogate import Distances

Floats = NDArray[np.float64]

MOST_ORDERS: Final = 16
"""Orders of one stack that are evaluated coarsely. [-]"""


class Ordered(NamedTuple):
    """A stack whose packs may lie in other orders.

    Parameters
    ----------
    orders : the first with known forces.
    exact : forces of the first. [N]
    setting : of the adjusters.
    """

    orders: Sequence[Stack]
    exact: Floats
    setting: int


def nearer_orders(
    asked: Sequence[Ordered], *, evaluator: Evaluator, metrics: Distances
) -> list[tuple[Stack, Floats] | None]:
    """For each stack the order that should come nearest to the goal, with its exact forces.

    None where none comes nearer. Orders differ by little, so what the coarse force of one is off by goes for
    all.

    Parameters
    ----------
    asked : the stacks.
    evaluator, metrics : what asks the physics, and figures of the goal.
    """
    tried = [one for one in asked if len(one.orders) > 1 and metrics.misfit(one.exact) > 0]
    packed = [[evaluator.physics.packed(order) for order in one.orders[: MOST_ORDERS + 1]] for one in tried]
    coarse = iter(
        evaluator.evaluate(
            [
                Request(plates, one.setting, Accuracy.COARSE)
                for one, same in zip(tried, packed, strict=True)
                for plates in same
            ]
        )
    )
    nearer: dict[int, tuple[Stack, Request]] = {}
    for one, same in zip(tried, packed, strict=True):
        first, *others = islice(coarse, len(same))
        if first is None:
            continue
        off = log_of(one.exact) - log_of(first)
        misfits = [
            np.inf if forces is None else metrics.misfit(np.exp(log_of(forces) + off)) for forces in others
        ]
        best = 1 + int(np.argmin(misfits))
        if misfits[best - 1] < metrics.misfit(one.exact):
            nearer[id(one)] = one.orders[best], Request(same[best], one.setting, Accuracy.EXACT)
    exact = dict(zip(nearer, evaluator.evaluate([request for _, request in nearer.values()]), strict=True))
    return [None if (forces := exact.get(id(one))) is None else (nearer[id(one)][0], forces) for one in asked]
