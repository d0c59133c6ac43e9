"""A planned stack built of real shims: which of the measured ones to take, and what the damper then does."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.packs import RING
from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.allocation.chosen import Chosen, Drawer, choose
from optimiser.model.answer import Candidate
from optimiser.model.goal import mean_weights
from optimiser.model.problem import Problem
from optimiser.model.stock import ShimKey
from optimiser.model.taken import Taken, taken_from
from optimiser.unknowns.damper_unknowns import shim_uncertainty

STEP: Final = 3
"""Difference of thickness from which a shim's effect on the forces is taken. [um]"""

BESIDE: Final = 0.002
"""Where a fit found shims of a nominal thickness thicker, a reading of the same figure stands beside it.

So it counts as what was read. [um]
"""


@dataclass(frozen=True, slots=True)
class RealShims:
    """The shims to take, and what they do.

    Parameters
    ----------
    chosen : by type, for every type that comes from the shelf and of which some were measured.
    stack : the planned one with the readings of those in place of their nominal thickness.
    forces : damping force of that stack at each velocity of the goal. [N]
    """

    chosen: Mapping[ShimKey, Chosen]
    stack: Stack
    forces: tuple[float, ...]


def real_shims(problem: Problem, candidate: Candidate) -> RealShims | None:
    """The measured shims that bring a candidate nearest to its plan; None where none of its types was read.

    Parameters
    ----------
    problem : what the search was asked.
    candidate : one of its answers.

    Raises
    ------
    ModelError
        When the stack cannot be computed with another thickness.
    """
    taken = [
        one
        for one in taken_from(problem.stock, old=problem.stack, new=candidate.stack)
        if problem.stock.readings.get(one.key) and one.count <= one.of
    ]
    if not taken:
        return None
    places = {one.key: _places(candidate, one) for one in taken}
    drawers = [_drawer(problem, candidate, one, places[one.key]) for one in taken]
    chosen = {one.key: found for one, found in zip(taken, choose(drawers), strict=True)}
    shims = list(candidate.stack.shims)
    for key, found in chosen.items():
        fitted = abs(_counted(problem, candidate, places[key][0]) - key.thickness) > BESIDE
        for place, reading in zip(places[key], found.readings, strict=False):
            shims[place] = replace(shims[place], thickness=(reading + BESIDE * fitted) * MICROMETRE)
    stack = Stack(tuple(shims))
    forces = problem.physics.forces(problem.physics.packed(stack), candidate.setting)
    return RealShims(chosen, stack, tuple(float(force) for force in forces))


def _places(candidate: Candidate, taken: Taken) -> tuple[int, ...]:
    """Places in the new stack of the shims of a type that come from the shelf, from the piston outwards."""
    coming = sorted(
        change.in_after
        for change in candidate.changes
        if change.put_in == taken.key and change.in_after is not None
    )
    return tuple(coming[: taken.count])


def _drawer(problem: Problem, candidate: Candidate, taken: Taken, places: Sequence[int]) -> Drawer:
    readings = problem.stock.readings[taken.key]
    uncertainty = shim_uncertainty(thickness=taken.key.thickness * MICROMETRE)
    thinner, thicker = (_logarithms(problem, candidate, places, step) for step in (-STEP, STEP))
    each = (thicker - thinner) / (2 * STEP * len(places))
    return Drawer(
        taken=taken.count,
        counted=_counted(problem, candidate, places[0]),
        readings=readings,
        unread=taken.of - len(readings),
        uncertainty=uncertainty / MICROMETRE,
        effects=np.array([each[part] @ weights for part, weights in _bands(problem)]),
    )


def _counted(problem: Problem, candidate: Candidate, place: int) -> float:
    """Thickness that the plan counts a shim with: nominal, unless a fit found such shims thicker. [um]"""
    plates = problem.physics.packed(candidate.stack)
    pack = plates.places[place] if plates.places else RING
    if pack == RING:
        return candidate.stack.shims[place].thickness / MICROMETRE
    return plates.packs[pack].height / plates.places.count(pack) / MICROMETRE


def _bands(problem: Problem) -> Iterator[tuple[slice, NDArray[np.float64]]]:
    for window, part in problem.goal.parts:
        yield part, mean_weights(window.velocities)


def _logarithms(
    problem: Problem, candidate: Candidate, places: Sequence[int], step: int
) -> NDArray[np.float64]:
    """Logarithms of the forces with the shims at some places thicker by a step [um]."""
    shims = [
        replace(shim, thickness=shim.thickness + step * MICROMETRE) if place in places else shim
        for place, shim in enumerate(candidate.stack.shims)
    ]
    forces = problem.physics.forces(problem.physics.packed(Stack(tuple(shims))), candidate.setting)
    return np.log(np.maximum(np.abs(forces), 1e-12))
