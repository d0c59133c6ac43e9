"""How much each place in a stack can do: decides what is looked at first, never what is true."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from damping_model.stack import Stack
from optimiser.search.menu import Reach
from optimiser.search.prepare import Workshop
from optimiser.search.runs import Runs
from optimiser.search.shape import Shape
from optimiser.search.skeleton import skeletons
from optimiser.stock import ShimKey

GAP_WEIGHT = 3.0
"""Packs before a crossover count for so much more until they are sure: they widen the gap. [-]"""


@dataclass(frozen=True, slots=True)
class Influence:
    """Effect of one more shim in each run and diameter, on the stack as it is.

    Parameters
    ----------
    runs : number of runs of falling diameter in it.
    effects : by run and diameter, the largest change of force in half-widths per unit of bending stiffness.
    """

    runs: int
    effects: dict[tuple[int, int], float]

    def of(self, shape: Shape, place: int, reach: Reach) -> float:
        """How far apart the ends of a slot's range lie, in half-widths of a window, roughly. [-]"""
        slot = shape.slots[place]
        effect = (
            self.effects.get((slot.run, slot.outer), 0.0)
            if shape.runs == self.runs
            else max((self.effects.get((run, slot.outer), 0.0) for run in range(self.runs)), default=0.0)
        )
        score = effect * (reach.stiff[0] - reach.soft[0])
        if slot.run < shape.runs - 1 and reach.empty:
            score *= GAP_WEIGHT
        return score


def influence(shop: Workshop, runs: Runs, half: NDArray[np.float64], setting: int) -> Influence:
    """Try one more shim of middling thickness at every diameter of every run."""
    as_it_is = skeletons(shop.packs, most_runs=shop.most_runs, most_changes=0)
    if not as_it_is:
        return Influence(0, {})
    skeleton = as_it_is[0]
    before = runs.forces(runs.physics.packed(shop.stack), setting)
    effects: dict[tuple[int, int], float] = {}
    if before is None:
        return Influence(skeleton.runs, effects)
    for run in range(skeleton.runs):
        for outer, plates in shop.plates.items():
            keys = sorted(plates, key=lambda key: key.thickness)
            probe = keys[len(keys) // 2]
            bending = plates[probe].bending
            stack = _with(shop, skeleton.kept, run, probe)
            after = runs.forces(runs.physics.packed(stack), setting)
            if after is not None and bending > 0:
                effects[run, outer] = float(np.max(np.abs(after - before) / half)) / bending
    return Influence(skeleton.runs, effects)


def _with(
    shop: Workshop, kept: tuple[tuple[int, tuple[ShimKey, ...]], ...], run: int, probe: ShimKey
) -> Stack:
    """The stack with one more shim at its place by size in a run."""
    rings = {pack.keys: pack for pack in shop.packs if pack.frozen}
    keys: list[ShimKey] = []
    waiting = True
    for at, shims in kept:
        if waiting and (at > run or (at == run and shims[0].outer < probe.outer)):
            keys.append(probe)
            waiting = False
        pack = rings.get(shims)
        keys += [*pack.before, *shims, *pack.after] if pack else shims
    if waiting:
        keys.append(probe)
    return Stack(tuple(key.shim for key in keys))
