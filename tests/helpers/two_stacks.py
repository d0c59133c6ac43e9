"""Two small stacks of one damper, every way to change both within reach, and goals drawn among the forces."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.damper import Damper
from damping_model.damper.stack_sums import summed
from damping_model.errors import ModelError
from damping_model.flow.paths import Clicker
from damping_model.stack.stack import Stack
from optimiser.files.damper_builder import read_damper
from optimiser.model import rank
from optimiser.model.damper_description import DamperDescription
from optimiser.model.goal import Goal, Role, Window
from optimiser.model.open_stacks import DamperProblem, OpenStack
from optimiser.model.rules import rules_for
from optimiser.model.stock import ShimKey, Stock
from optimiser.model.whole_physics import DamperAsked, damper_problem
from tests.helpers import brute_force
from tests.helpers.paths import DEMO
from tests.helpers.toy import averaged

Floats = NDArray[np.float64]
Sizes = tuple[tuple[float, float], ...]
HEIGHT = 0.5e-3


@dataclass(frozen=True)
class TwoPlaces:
    """Two stacks of one demo damper, with few shims, and one shelf.

    Parameters
    ----------
    damper : the file.
    names : of the two stacks.
    shims : outer diameter and thickness of each shim of each stack. [mm]
    shelf : outer diameter, thickness and hole of each type, one of it each. [mm]
    targets, holds : velocities where the goal is judged. [m/s]
    can_be_turned : whether each adjuster stands at the second of three positions, else at its only one.
    """

    damper: str
    names: tuple[str, str]
    shims: tuple[Sizes, Sizes]
    shelf: tuple[tuple[float, float, float], ...]
    targets: tuple[tuple[float, ...], ...]
    holds: tuple[tuple[float, ...], ...]
    can_be_turned: bool = False


FORK = TwoPlaces(
    "yaffle_fork",
    ("base compression stack", "rebound stack"),
    (
        ((17, 0.15), (17, 0.10), (13, 0.15), (8, 0.30)),
        ((16, 0.15), (16, 0.10), (12, 0.15), (8, 0.30)),
    ),
    ((17, 0.20, 6), (16, 0.15, 6), (13, 0.10, 6)),
    ((0.1, 0.2), (-0.15, -0.3)),
    ((0.8, 1.4), (-1.0, -1.6)),
)
"""A base valve and a rebound stack on the shaft that opens in the other stroke."""

SHOCK = TwoPlaces(
    "morwen_shock",
    ("compression stack", "adjuster stack"),
    (
        ((44, 0.20), (44, 0.15), (34, 0.20), (20, 0.30)),
        ((20, 0.15), (20, 0.10), (14, 0.15), (10, 0.30)),
    ),
    ((44, 0.15, 16), (34, 0.15, 16), (20, 0.20, 8), (16, 0.15, 8)),
    ((0.15, 0.3),),
    ((0.9, 1.5),),
)
"""A main piston and an adjuster's stack, both at work in compression."""


@dataclass(frozen=True)
class Reached:
    """One stack within reach: its fewest changes, its force with the other as it is. [N]"""

    stack: Stack
    changes: int
    forces: Floats


Pair = tuple[int, tuple[Stack, Stack], Floats]
"""Changes, stacks and forces of both. [N]"""


@dataclass(frozen=True)
class BothInReach:
    """All that can be built of two stacks.

    Parameters
    ----------
    problem : with a goal that means nothing.
    each : of each place, the stack as it is among them.
    together : every pair within the changes in all that the shelf allows, with its changes and forces. [N]
    clicks : forces of both as they are at every setting. [N]
    """

    problem: DamperProblem
    each: tuple[tuple[Reached, ...], tuple[Reached, ...]]
    together: tuple[Pair, ...]
    clicks: tuple[Floats, ...]


def brute_key(stack: Stack) -> tuple[ShimKey, ...]:
    return tuple(ShimKey.of(shim) for shim in stack.shims)


def few_shims(places: TwoPlaces) -> DamperDescription:
    """The damper with few shims in its two places."""
    described = read_damper(DEMO / "dampers" / f"{places.damper}.toml")
    if places.can_be_turned:
        described = replace(described, damper=_with_three_positions(described.damper))
    for name, shims in zip(places.names, places.shims, strict=True):
        hole = described.stack_named(name, where="test").mounting.hole_diameter * 1e3
        described = described.with_stack(name, Stack(tuple(_key(*size, hole).shim for size in shims)))
    return described


def shelf_of(places: TwoPlaces) -> Stock:
    """One shim of each type."""
    return Stock({_key(*size): 1 for size in places.shelf})


@lru_cache(maxsize=4)
def both_in_reach(places: TwoPlaces, changes: int) -> BothInReach:
    """Try everything, by brute force on the physics itself."""
    return in_reach_of(few_shims(places), places, changes)


def in_reach_of(described: DamperDescription, places: TwoPlaces, changes: int) -> BothInReach:
    """The same of a damper that has been described."""
    stock = shelf_of(places)
    velocities = np.array([v for part in (*places.targets, *places.holds) for v in part])
    idle = _goal(places, *(np.ones(velocities.size) * n for n in (1.0, 0.5, 1.0, 2.0)))
    asked = DamperAsked(goal=idle, stock=stock, may_shrink=HEIGHT, may_grow=HEIGHT)
    problem = damper_problem(described, places.names, asked)
    before = problem.whole.forces(problem.present, problem.setting)
    goal = _goal(places, before, before * 0.5, before, before * 2)
    problem = damper_problem(described, places.names, replace(asked, goal=goal))
    each = []
    for place, one in enumerate(problem.open_stacks):
        pool = problem.beside(place, changes=changes)
        rules, have = rules_for(one.stack, one.mounting), brute_force.at_hand(one.stack, pool)
        heights = replace(goal, least_height=one.least_height, most_height=one.most_height)
        found = []
        for keys, cost in brute_force.within(one.stack, pool, changes).items():
            if brute_force.buildable(keys, have, heights, one.mounting, rules):
                made = Stack(tuple(key.shim for key in keys))
                try:
                    forces = one.physics.forces(one.physics.packed(made), problem.setting)
                except ModelError:
                    continue
                found.append(Reached(made, cost, forces))
        each.append(tuple(found))
    first = problem.open_stacks[0]
    packed = first.physics.packed(first.stack)
    clicks = tuple(first.physics.forces(packed, setting) for setting in range(len(problem.settings)))
    return BothInReach(
        problem, (each[0], each[1]), tuple(_together(problem, each[0], each[1], changes)), clicks
    )


def _together(
    problem: DamperProblem, first: Sequence[Reached], second: Sequence[Reached], changes: int
) -> Iterator[Pair]:
    before = problem.goal.before
    present = sum((Counter(brute_key(s)) for s in problem.present), Counter())
    counts = [Counter(brute_key(one.stack)) for one in second]
    for one in first:
        has = Counter(brute_key(one.stack))
        for other, has_too in zip(second, counts, strict=True):
            number = one.changes + other.changes
            if number > changes:
                continue
            needed = (has + has_too) - present
            if all(count <= problem.stock.count(key) for key, count in needed.items()):
                yield number, (one.stack, other.stack), summed(before, (one.forces, other.forces))


def met_with_one_each(reach: BothInReach, goal: Goal, setting: int, *, changes: int) -> list[Floats]:
    """Forces of all that meets a goal at a setting with one change, or with one in each of both places. [N]"""
    problem, before = reach.problem, reach.clicks[setting]
    one_each = [[one.stack for one in each if one.changes == 1] for each in reach.each]
    if changes == 1:
        made = [(stack, problem.present[1]) for stack in one_each[0]]
        made += [(problem.present[0], stack) for stack in one_each[1]]
    else:
        made = [(one, other) for one in one_each[0] for other in one_each[1]]
    found = []
    for stacks in made:
        if problem.shelf_allows(stacks):
            alone = [
                _forces_at(one, stack, setting)
                for one, stack in zip(problem.open_stacks, stacks, strict=True)
            ]
            forces = summed(before, alone)
            if rank.misfit(goal, forces) == 0:
                found.append(forces)
    return found


@lru_cache(maxsize=4096)
def _forces_at(one: OpenStack, stack: Stack, setting: int) -> Floats:
    return one.physics.forces(one.physics.packed(stack), setting)


def _with_three_positions(damper: Damper) -> Damper:
    """The damper with three positions of each adjuster: as it stands, and half-way to either end."""
    valves = []
    for valve in damper.valves:
        paths = [_three_of(path) if isinstance(path, Clicker) else path for path in valve.paths]
        valves.append(replace(valve, paths=tuple(paths)))
    return replace(damper, valves=tuple(valves))


def _three_of(clicker: Clicker) -> Clicker:
    now, last = clicker.position, len(clicker.areas) - 1
    kept = (now // 2, now, (now + last) // 2)
    return replace(clicker, areas=tuple(clicker.areas[at] for at in kept), position=1)


def random_goal(rng: np.random.Generator, places: TwoPlaces, reach: BothInReach, *, kind: str) -> Goal:
    """A goal of one of three kinds.

    Parameters
    ----------
    rng, places, reach : what chance decides, where, and what is in reach.
    kind : ``"a pair"``, around what one change of each does; ``"one stack"``, around what one or two changes
        of one stack do; ``"turned"``, around what one change does at another setting; ``"any"``.
    """
    before = reach.problem.goal.before
    count = sum(map(len, places.targets))
    width = rng.uniform(0.004, 0.02) * before
    if kind == "turned":
        place = int(rng.integers(2))
        stacks = [one.stack for one in reach.each[place] if one.changes == 1]
        setting = int(rng.integers(len(reach.problem.settings)))
        desired = _forces_at(reach.problem.open_stacks[place], stacks[rng.integers(len(stacks))], setting)
    elif kind == "any":
        desired = before.copy()
        for part in np.split(np.arange(count), np.cumsum([len(one) for one in places.targets])[:-1]):
            desired[part] *= 1 + rng.choice([-1, 1]) * rng.uniform(0.02, 0.12)
    else:
        alone = []
        for each in reach.each:
            changed = [one for one in each if one.changes == 1 or (one.changes == 2 and kind == "one stack")]
            alone.append(changed[rng.integers(len(changed))].forces)
        if kind == "one stack":
            alone = [alone[rng.integers(2)]]
        desired = summed(before, alone)
    goal = _goal(places, before, desired - width, desired, desired + width)
    return averaged(goal) if kind == "any" and rng.random() < 0.5 else goal


def _goal(places: TwoPlaces, before: Floats, lower: Floats, desired: Floats, upper: Floats) -> Goal:
    windows, start = [], 0
    for role, parts in ((Role.TARGET, places.targets), (Role.HOLD, places.holds)):
        for number, velocities in enumerate(parts):
            part = slice(start, start + len(velocities))
            start = part.stop
            figures = (tuple(map(float, one[part])) for one in (before, lower, desired, upper))
            windows.append(Window(f"{role.value} {number}", role, velocities, *figures))
    return Goal(tuple(windows), 0.0, 1.0)


def _key(outer: float, thickness: float, hole: float) -> ShimKey:
    return ShimKey.from_millimetres(outer=outer, thickness=thickness, inner=hole)
