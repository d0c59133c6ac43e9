"""Stacks that do not share a flow each add their own change to the force; those that do are named together."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import chain, combinations

import numpy as np
import pytest

from damping_model.damper.damper import Damper
from damping_model.damper.force import force_curve
from damping_model.damper.stack_sums import closes_a_ring, coupled_stacks, summed
from damping_model.errors import ConvergenceError, GeometryError
from damping_model.flow.path_set import FlowPath
from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.stack import Stack
from tests.helpers.counts import tries
from tests.helpers.random_dampers import random_damper, random_stack

VELOCITIES = np.array([-1.5, -0.4, -0.1, 0.06, 0.3, 1.2])
SHARE = 1e-9
"""Of the force, by which a sum may be off the whole circuit. [-]"""


def with_stacks(damper: Damper, stacks: dict[str, Stack]) -> Damper:
    def changed(path: FlowPath) -> FlowPath:
        if isinstance(path, ShimValve) and path.name in stacks:
            return replace(path, stack=stacks[path.name])
        return path

    valves = tuple(replace(valve, paths=tuple(map(changed, valve.paths))) for valve in damper.valves)
    return replace(damper, valves=valves)


def forces(damper: Damper) -> np.ndarray:
    return force_curve(damper, velocities=VELOCITIES).damping_force


def pairs(seed: int) -> tuple[Damper, dict[str, Stack], list[tuple[str, str]]]:
    """A damper, another stack for each of its places, and the pairs of places that are apart."""
    damper, rng = random_damper(seed), random.Random(seed)
    new = {}
    for path in damper.stacks:
        face, clamp = path.stack.shims[0].outer_diameter, 2 * path.seat.clamp_radius
        new[path.name] = random_stack(rng, face=face, clamp=clamp)
    groups = coupled_stacks(damper)
    apart = [(a, b) for one, other in combinations(groups, 2) for a in one for b in other]
    return damper, new, apart


def test_changes_of_stacks_apart_add_up_to_the_whole_circuit() -> None:
    """2,000 pairs of stacks in random trees of valves, 12 in a quick run."""
    wanted, seed, tried, moved = tries(quick=12, thorough=2000), 0, 0, 0
    while tried < wanted:
        seed += 1
        damper, new, apart = pairs(seed)
        try:
            before = forces(damper) if apart else None
            alone = {
                name: forces(with_stacks(damper, {name: new[name]})) for name in dict.fromkeys(chain(*apart))
            }
            for one, other in apart:
                whole = forces(with_stacks(damper, {one: new[one], other: new[other]}))
                assert before is not None
                np.testing.assert_allclose(
                    summed(before, (alone[one], alone[other])), whole, rtol=SHARE, atol=1e-9
                )
                tried += 1
                moved += bool((np.abs(whole / before - 1) > 1e-3).any())
        except (GeometryError, ConvergenceError):
            continue  # no way for the oil, or a stack that does not fit
    assert moved > 0.7 * tried


def test_stacks_that_share_a_flow_do_not_add_and_are_named_together() -> None:
    """Of a damper with two pistons' valves side by side, and of a ring: what is called coupled is."""
    seen = {"side by side": 0, "ring": 0}
    for seed in range(1, 400):
        damper, new, _ = pairs(seed)
        ring = closes_a_ring(damper)
        group = next((one for one in coupled_stacks(damper) if len(one) > 1), None)
        kind = "ring" if ring else "side by side"
        if all(seen.values()):
            break
        if group is None or seen[kind]:
            continue
        try:
            before = forces(damper)
            alone = [forces(with_stacks(damper, {name: new[name]})) for name in group[:2]]
            whole = forces(with_stacks(damper, {name: new[name] for name in group[:2]}))
        except (GeometryError, ConvergenceError):
            continue
        if all((np.abs(one / before - 1) > 1e-2).any() for one in alone):
            seen[kind] += not np.allclose(summed(before, alone), whole, rtol=1e-4)
    assert seen["side by side"] > 0
    assert seen["ring"] > 0


@pytest.mark.parametrize("seed", range(1, 30))
def test_every_stack_is_in_one_group(seed: int) -> None:
    damper = random_damper(seed)
    named = sorted(name for group in coupled_stacks(damper) for name in group)
    assert named == sorted(path.name for path in damper.stacks)


def test_changing_nothing_changes_no_force() -> None:
    before = np.array([1.0, -2.0])
    np.testing.assert_array_equal(summed(before, ()), before)
