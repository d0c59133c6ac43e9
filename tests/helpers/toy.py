"""A damper that can be worked by hand, and small jobs on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import trapezoid

from damping_model.stack.packs import PackedStack, pack_stack
from damping_model.stack.stack import Stack
from damping_model.stack.steel import SpringSteel
from optimiser.model.goal import Average, Goal, Role, Window, mean_weights
from optimiser.model.physics import BandPhysics
from optimiser.model.problem import Problem
from optimiser.model.rules import Mounting
from optimiser.model.stock import ShimKey, Stock

Floats = NDArray[np.float64]
VELOCITIES: tuple[float, ...] = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0)
MOUNTING = Mounting(
    hole_diameter=8e-3,
    port_outer_radius=7.5e-3,
    seat_radius=8.5e-3,
    bore_radius=13.5e-3,
    clamp_diameter=9e-3,
    most_height=9e-3,
)


@dataclass(slots=True)
class ToyPhysics:
    """Every pack adds its share of force, less the further away it lies behind the gaps in front of it.

    Monotone like the real model: stiffer packs never give less, more gap never gives more.
    """

    settings: tuple[Mapping[str, int], ...] = ({"rebound": 4},)
    setting: int = 0
    runs: int = 0
    excess_tolerance: float = 0.0
    exact_tolerance: float = 0.0

    def packed(self, stack: Stack) -> PackedStack:
        return pack_stack(stack, clamp_radius=4.5e-3, steel=SpringSteel(), merge="diameter")

    def forces(self, plates: PackedStack, setting: int) -> Floats:
        self.runs += 1
        velocity = np.array(VELOCITIES)
        force, packs = 50 * velocity**0.5, plates.packs
        for place, pack in enumerate(packs):
            if pack.outer_radius <= 4.5e-3:
                continue
            gap = sum(p.height for p in packs[:place] if p.outer_radius < pack.outer_radius)
            reach = pack.outer_radius / 10e-3
            force = force + (
                60 * velocity**0.6 * (pack.bending / 0.05) * reach ** (2 + velocity)
                * np.exp(-gap / (0.12e-3 * (0.5 + velocity)))
            )  # fmt: skip
        return np.asarray(force * (1 - 0.04 * setting))

    def coarse_forces(self, plates: PackedStack, setting: int) -> Floats:
        return self.forces(plates, setting)

    def objection(self, stack: Stack, setting: int) -> None:  # noqa: ARG002
        return None

    def excesses(
        self, plates: PackedStack, setting: int, *, places: Sequence[int], forces: Sequence[float], exactly: bool  # noqa: ARG002
    ) -> Floats:  # fmt: skip
        return np.asarray(np.log(self.forces(plates, setting)[list(places)] / np.array(forces)))


def key(outer: float, thickness: float, inner: float = 8.0) -> ShimKey:
    return ShimKey.from_millimetres(outer=outer, thickness=thickness, inner=inner)


def stack(*sizes: tuple[float, float]) -> Stack:
    return Stack(tuple(key(*size).shim for size in sizes))


def goal(physics: ToyPhysics, start: Stack, *, desired: Floats, tolerance: Floats, targets: int = 3,
         height: float = 1e-3) -> Goal:  # fmt: skip
    """Windows around ``desired``: the first velocities are the target, the others are held."""
    before = physics.forces(physics.packed(start), physics.setting)
    desired_forces = np.where(np.arange(before.size) < targets, desired, before)
    width = tolerance * before

    def window(name: str, role: Role, part: slice) -> Window:
        return Window(
            name, role, VELOCITIES[part], tuple(before[part]), tuple((desired_forces - width)[part]), tuple(desired_forces[part]),
            tuple((desired_forces + width)[part]),
        )  # fmt: skip

    return Goal(
        (window("low", Role.TARGET, slice(None, targets)), window("high", Role.HOLD, slice(targets, None))),
        start.height - height,
        start.height + height,
    )


def averaged(goal: Goal) -> Goal:
    """The same targets asked of the average, every velocity by a third to two and a half times as much."""
    windows = []
    for window in goal.windows:
        if window.role is Role.TARGET:
            before, desired = np.array(window.before), np.array(window.desired)
            weights = mean_weights(window.velocities)
            limits = (
                float(weights @ np.log(np.array(f) / before)) for f in (window.lower, desired, window.upper)
            )
            ways = before + (desired - before) / 3, before + (desired - before) * 2.5
            window = replace(  # noqa: PLW2901
                window,
                lower=tuple(np.minimum(*ways)),
                upper=tuple(np.maximum(*ways)),
                average=Average(*limits),
            )
        windows.append(window)
    return replace(goal, windows=tuple(windows))


def mean_by_hand(ratio: Floats, velocities: Sequence[float]) -> float:
    """Average change over the logarithm of velocity by scipy's trapezoidal rule; from force over force before. [-]"""
    logs = np.log(np.abs(velocities))
    return float(np.expm1(trapezoid(np.log(ratio), logs) / (logs[-1] - logs[0])))


def no_goal(start: Stack) -> Goal:
    """Nothing is asked."""
    return Goal((), start.height, start.height)


def problem(physics: BandPhysics, start: Stack, stock: Stock, goal: Goal) -> Problem:
    """What a search takes."""
    return Problem(physics=physics, stack=start, mounting=MOUNTING, stock=stock, goal=goal)


DIAMETERS = (20, 19, 18, 17, 16, 15, 14, 13, 12, 11, 10)
THICKNESSES = (0.10, 0.15, 0.20, 0.25, 0.30)


def random_stack(rng: np.random.Generator, shims: int) -> Stack:
    """A stack of one or two runs that ends on a clamp shim of 9 mm."""
    runs = int(rng.integers(1, 3)) if shims >= 6 else 1
    left = shims - 1 - (runs - 1)
    first = left if runs == 1 else int(rng.integers(1, left))
    sizes: list[tuple[float, float]] = []
    for run, count in enumerate((first, left - first)[:runs]):
        widest = 20 if run == 0 else int(rng.choice([20, 19, 18]))
        chosen = sorted(
            rng.choice([d for d in DIAMETERS if d <= widest and (run or d > 15)], size=count), reverse=True
        )
        if run == 0 and count:
            chosen[0] = 20
        sizes += [(float(d), float(rng.choice(THICKNESSES[:3]))) for d in chosen]
        if run == 0 and runs == 2:
            sizes.append((float(rng.choice([12, 13, 14])), float(rng.choice([0.1, 0.15]))))
    return stack(*sizes, (9, 0.30))


def random_stock(rng: np.random.Generator, types: int) -> Stock:
    """A cut-down shelf."""
    counts: dict[ShimKey, int] = {}
    while len(counts) < types:
        counts[key(float(rng.choice(DIAMETERS)), float(rng.choice(THICKNESSES)))] = int(rng.integers(0, 4))
    return Stock(counts)
