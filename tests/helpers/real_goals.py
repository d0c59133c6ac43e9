"""Small stacks in dampers of the stiff shop, every stack in reach with its forces, and goals drawn among them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from damping_model.stack.stack import Stack
from damping_model.stack.steel import SpringSteel
from optimiser.files.damper_builder import read_damper
from optimiser.model.damper_physics import DamperPhysics
from optimiser.model.goal import Goal, Role, Window
from optimiser.model.problem import Problem
from optimiser.model.rules import rules_for
from optimiser.model.stock import ShimKey, Stock
from tests.helpers import brute_force
from tests.helpers.paths import STIFF_SHOP
from tests.helpers.toy import averaged

Floats = NDArray[np.float64]
Sizes = tuple[tuple[float, ...], ...]

TARGETS = 2
"""Of the velocities, the first are the target, the others held."""


@dataclass(frozen=True)
class Place:
    """A stack in one damper of the stiff shop, and a shelf.

    Parameters
    ----------
    damper, name : the file and the stack that may change.
    shims, shelf : outer diameter and thickness of each, and the hole of a ring. [mm]
    velocities : where the goal is judged. [m/s]
    ring : first place and last of a ring and what centres it.
    """

    damper: str
    name: str
    shims: Sizes
    shelf: Sizes
    velocities: tuple[float, ...]
    ring: tuple[int, int] | None = None


ONE_CHANGE = {
    "taper": Place(
        "dunnock_shock",
        "compression stack",
        ((20, 0.15), (20, 0.10), (20, 0.15), (17, 0.15), (14, 0.15), (11, 0.25), (9, 0.30)),
        ((20, 0.10), (20, 0.20), (17, 0.10), (17, 0.25), (15, 0.15)),
        (0.06, 0.12, 0.6, 1.2),
    ),
    "two stages": Place(
        "tarn_shock",
        "compression stack",
        ((20, 0.10), (20, 0.15), (20, 0.10), (12, 0.10), (19, 0.10), (19, 0.15), (16, 0.15), (9, 0.30)),
        ((20, 0.15), (20, 0.20), (19, 0.10), (12, 0.05), (14, 0.15)),
        (0.06, 0.12, 0.6, 1.2),
    ),
    "wide taper": Place(
        "morwen_shock",
        "compression stack",
        ((40, 0.25), (40, 0.20), (40, 0.25), (36, 0.20), (32, 0.25), (32, 0.20), (26, 0.30), (22, 0.30)),
        ((40, 0.15), (40, 0.30), (36, 0.25), (32, 0.15), (28, 0.30)),
        (0.1, 0.2, 0.8, 1.6),
    ),
    "ring": Place(
        "yaffle_fork",
        "base compression stack",
        ((17, 0.15), (17, 0.10), (17, 0.20, 12), (11, 0.15), (16, 0.15), (16, 0.10), (14, 0.15), (11, 0.15), (9, 0.20)),
        ((17, 0.15), (17, 0.20), (16, 0.20), (11, 0.15), (12, 0.10)),
        (0.1, 0.2, 0.8, 1.6),
        (2, 3),
    ),
}  # fmt: skip
"""Small enough to try every stack one change away."""

TWO_CHANGES = {
    "taper": replace(
        ONE_CHANGE["taper"],
        shims=((20, 0.15), (20, 0.10), (17, 0.15), (9, 0.30)),
        shelf=((20, 0.20), (17, 0.10)),
    ),
    "two stages": replace(
        ONE_CHANGE["two stages"],
        shims=((20, 0.10), (20, 0.15), (12, 0.10), (19, 0.15), (9, 0.30)),
        shelf=((19, 0.10), (20, 0.20)),
    ),
    "wide taper": replace(
        ONE_CHANGE["wide taper"],
        shims=((40, 0.25), (40, 0.20), (32, 0.25), (22, 0.30)),
        shelf=((40, 0.15), (32, 0.20)),
    ),
    "ring": replace(
        ONE_CHANGE["ring"],
        shims=((17, 0.15), (17, 0.20, 12), (11, 0.15), (16, 0.15), (11, 0.15), (9, 0.20)),
        shelf=((17, 0.20), (16, 0.10), (14, 0.15)),
        ring=(1, 2),
    ),
}
"""Small enough to try every stack two changes away."""


@dataclass(frozen=True)
class Reached:
    """A stack that can be built, with the fewest changes that lead to it and its forces. [N]"""

    stack: Stack
    changes: int
    forces: Floats


@dataclass(frozen=True)
class InReach:
    """All that can be built from a place within so many changes.

    Parameters
    ----------
    problem : without a goal that means anything.
    stacks : the stacks, the one as it is among them with no changes.
    clicks : forces of the one as it is at every setting of the adjusters. [N]
    """

    problem: Problem
    stacks: tuple[Reached, ...]
    clicks: tuple[Floats, ...]


@lru_cache(maxsize=8)
def in_reach(place: Place, changes: int) -> InReach:
    """Try everything, by brute force on the physics itself."""
    described = read_damper(STIFF_SHOP / "dampers" / f"{place.damper}.toml")
    mounted = described.stack_named(place.name, where="test")
    hole = mounted.mounting.hole_diameter * 1e3
    stack = Stack(tuple(_key(size, hole).shim for size in place.shims))
    velocities = np.array(place.velocities)
    physics = DamperPhysics(
        described.with_stack(place.name, stack).damper,
        stack_name=place.name,
        velocities=velocities,
        temperature=None,
        steel=SpringSteel(),
    )
    stock = Stock({_key(size, hole): 1 for size in place.shelf})
    before = physics.forces(physics.packed(stack), physics.setting)
    goal = _goal(velocities, before, before * 0.5, before, before * 2, stack)
    rules, have = rules_for(stack, mounted.mounting), brute_force.at_hand(stack, stock)
    found = []
    for name, cost in brute_force.within(stack, stock, changes, stays=place.ring).items():
        if brute_force.buildable(name, have, goal, mounted.mounting, rules):
            made = Stack(tuple(key.shim for key in name))
            try:
                forces = physics.forces(physics.packed(made), physics.setting)
            except ModelError:
                continue
            found.append(Reached(made, cost, forces))
    problem = Problem(
        physics=physics, stack=stack, mounting=mounted.mounting, stock=stock, goal=goal, rules=rules
    )
    packed = physics.packed(stack)
    clicks = tuple(physics.forces(packed, setting) for setting in range(len(physics.settings)))
    return InReach(problem, tuple(found), clicks)


def random_goal(rng: np.random.Generator, reach: InReach, *, changes: int, kind: str) -> Goal:
    """A goal of one of three kinds.

    Parameters
    ----------
    rng, reach : what chance decides, and what is in reach.
    changes : most of the stack that it is drawn from.
    kind : ``"one stack"``, which one stack alone meets, with those of just the same force; ``"near an edge"``,
        which a stack meets or misses by a thousandth of the force or less; ``"any"``.
    """
    problem, stack = reach.problem, reach.problem.stack
    before, velocities = problem.goal.before, problem.goal.velocities
    changed = [one for one in reach.stacks if one.changes]
    if kind == "any":
        desired = before.copy()
        desired[:TARGETS] *= 1 + rng.choice([-1, 1]) * rng.uniform(0.02, 0.15)
        width = rng.uniform(0.005, 0.03) * before
        goal = _goal(velocities, before, desired - width, desired, desired + width, stack)
        return averaged(goal) if rng.random() < 0.3 else goal
    planted = changed[rng.integers(len(changed))].forces
    if kind == "one stack":
        return planted_goal(reach, planted)
    width = rng.uniform(0.004, 0.02) * planted
    place, side = rng.integers(velocities.size), rng.choice([-1, 1])
    middle = planted.copy()
    inside = rng.choice([-1, 1]) * 10.0 ** rng.uniform(-5, -3) * planted[place]
    middle[place] += side * (width[place] - inside)
    return _goal(velocities, before, middle - width, middle, middle + width, stack)


def planted_goal(reach: InReach, planted: Floats) -> Goal:
    """Windows that forces lie in the middle of, and no others that are in reach but those of equal stacks."""
    off = np.array([np.abs(one.forces / planted - 1).max() for one in reach.stacks])
    width = 0.45 * min(float(off[off > 1e-7].min()), 0.02) * planted
    goal = reach.problem.goal
    return _goal(goal.velocities, goal.before, planted - width, planted, planted + width, reach.problem.stack)


def _goal(
    velocities: Floats, before: Floats, lower: Floats, desired: Floats, upper: Floats, stack: Stack
) -> Goal:
    def window(name: str, role: Role, part: slice) -> Window:
        return Window(
            name,
            role,
            tuple(velocities[part]),
            tuple(before[part]),
            tuple(lower[part]),
            tuple(desired[part]),
            tuple(upper[part]),
        )

    return Goal(
        (window("low", Role.TARGET, slice(TARGETS)), window("high", Role.HOLD, slice(TARGETS, None))),
        stack.height - 1e-3,
        stack.height + 1e-3,
    )


def _key(size: tuple[float, ...], hole: float) -> ShimKey:
    return ShimKey.from_millimetres(
        outer=size[0], thickness=size[1], inner=size[2] if len(size) > 2 else hole
    )
