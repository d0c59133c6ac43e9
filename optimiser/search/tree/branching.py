"""How much a shim does at each place of a stack, estimated: the measure that branching goes by.

A family is split where its members differ most by this measure. It decides the order of work, never what is
true.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.packs import PackedStack
from optimiser.model.stock import ShimKey
from optimiser.search.bounds.relaxation import stiffest
from optimiser.search.evaluator import Evaluator
from optimiser.search.space.family import Family
from optimiser.search.space.shape import Shape
from optimiser.search.space.sites import Site, patch

LEAST_FORCE = 1e-6
"""Forces below this are not compared as ratios. [N]"""


@dataclass(frozen=True, slots=True)
class Influence:
    """Effect of one more shim in each run and diameter of one shape, a guide for others too.

    Parameters
    ----------
    effects : by run and diameter, thickness of the shim that was tried [um] and the largest change of force,
        in half-widths of a window.
    """

    effects: dict[tuple[int, int], tuple[int, float]]

    def of(self, run: int, key: ShimKey, *, opens_gap: bool) -> float:
        """How far a shim moves the force at the worst velocity, in half-widths of a window, estimated. [-]"""
        tried = self.effects.get((run, key.outer))
        if tried is None:
            same = [one for (_, outer), one in self.effects.items() if outer == key.outer]
            tried = max(same, key=lambda one: one[1], default=(key.thickness, 1.0))
        thickness, effect = tried
        # a shim that holds others off counts by its height, others by their bending stiffness
        return float(effect * (key.thickness / thickness) ** (1 if opens_gap else 3))


def influence(
    shape: Shape, evaluator: Evaluator, relative_half_width: NDArray[np.float64], setting: int
) -> Influence:
    """Try one more shim of middling thickness in every slot.

    Parameters
    ----------
    shape : what is kept.
    evaluator : what asks the physics.
    relative_half_width : half the width of the window, as a share of the desired force, at each velocity. [-]
    setting : of the adjusters.
    """
    probes = list(_middles(shape))
    start = _something_of(shape, probes)
    if start is None:
        return Influence({})
    before, *after = evaluator.coarse_forces(
        [_plates(shape, start), *(_plates(shape, (*start, probe)) for probe in probes)], setting
    )
    if before is None:
        return Influence({})
    return Influence(
        {
            (shape.slots[probe.place].run, probe.key.outer): (
                probe.key.thickness,
                float(np.max(np.abs(np.log(_force(forces) / _force(before))) / relative_half_width)),
            )
            for probe, forces in zip(probes, after, strict=True)
            if forces is not None
        }
    )


def _force(forces: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.maximum(np.abs(forces), LEAST_FORCE)


def _middles(shape: Shape) -> Iterator[Site]:
    """For each slot a shim may come to, one of middling thickness."""
    if shape.coming is not None:
        places: dict[int, list[Site]] = {}
        for site in shape.coming.sites:
            places.setdefault(site.place, []).append(site)
        yield from (sites[len(sites) // 2] for sites in places.values())


def _something_of(shape: Shape, probes: list[Site]) -> tuple[Site, ...] | None:
    """The fewest shims, of middling size, that make a stack of what is kept."""
    for count in range(3):
        found = [chosen for chosen in combinations(probes, count) if _family(shape, chosen).is_a_stack]
        if found:
            return found[len(found) // 2]
    return None


def _family(shape: Shape, sites: tuple[Site, ...]) -> Family:
    return Family(shape, (), tuple((patch([site]), 1) for site in sites))


def _plates(shape: Shape, sites: tuple[Site, ...]) -> PackedStack:
    return stiffest(_family(shape, sites))
