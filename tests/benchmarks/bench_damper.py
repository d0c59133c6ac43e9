"""Dampers drawn at random: how many give a whole curve; and how long curves and the search's question take.

Run from the project's folder: ``python -m tests.benchmarks.bench_damper [dampers]``.
"""

from __future__ import annotations

import dataclasses
import sys
import time
from collections import Counter
from collections.abc import Callable

import numpy as np

from damping_model.damper.force import force_curve
from damping_model.damper.response import StackResponse
from damping_model.errors import ModelError
from damping_model.stack.lift_table import lift_table
from tests.helpers.circuits import EVERY, fork_cartridge, monotube, one_change
from tests.helpers.random_dampers import random_damper

SPEEDS = np.geomspace(5e-3, 4.0, 25)
BOTH = np.concatenate([-SPEEDS[::-1], SPEEDS])


def seconds(task: Callable[[], object], *, repeats: int = 15) -> float:
    """Median time of a task. [s]"""
    task()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        task()
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def count_random(dampers: int) -> None:
    """How many of so many random dampers converge at 25 velocities in both strokes, and why others do not."""
    whys: Counter[str] = Counter()
    start, slowest = time.perf_counter(), 0.0
    for seed in range(dampers):
        before = time.perf_counter()
        try:
            curve = force_curve(random_damper(seed), velocities=BOTH)
            sound = np.isfinite(curve.damping_force).all() and (np.diff(curve.damping_force) > 0).all()
            whys["whole curve" if sound else "UNSOUND CURVE"] += 1
        except ModelError as error:
            known = "next to no way" in str(error)
            whys[
                "refused: a stroke has no way for the oil" if known else f"{type(error).__name__}: {error}"
            ] += 1
        slowest = max(slowest, time.perf_counter() - before)
    spent = time.perf_counter() - start
    print(
        f"{dampers} random dampers x {SPEEDS.size} velocities x 2 strokes in {spent:.0f} s, slowest {slowest:.2f} s"
    )
    for why, count in whys.most_common():
        print(f"  {count:6d}  {why}")


def time_curves() -> None:
    """Whole curves from nothing, and with the stacks' lift known."""
    print(
        f"{'circuit':28s}{'whole curve':>14s}{'of it lift':>12s}{'again':>10s}   (ms, {BOTH.size} velocities)"
    )
    for make in EVERY:
        damper = make()

        def whole() -> None:
            lift_table.cache_clear()
            force_curve(damper, velocities=BOTH)  # noqa: B023

        fresh, again = seconds(whole), seconds(lambda: force_curve(damper, velocities=BOTH))  # noqa: B023
        print(f"{damper.name:28s}{1e3 * fresh:14.1f}{(fresh - again) / fresh:12.0%}{1e3 * again:10.2f}")


def time_response() -> None:
    """The search's question, beside the stack's own share of it."""
    print(
        f"{'stack':28s}{'forces':>10s}{'lift alone':>12s}{'the rest':>10s}{'exact':>10s}   (ms, 12 velocities)"
    )
    velocities = np.geomspace(0.03, 2.0, 12)
    for make, name in ((monotube, "compression stack"), (fork_cartridge, "base stack")):
        damper = make()
        response = StackResponse(damper, valve=name, velocities=velocities)
        packed = response.packed(damper.stack_path(name).stack)
        lift = response.lift(packed)

        def exact() -> None:
            lift_table.cache_clear()
            response.exact_forces(packed)  # noqa: B023

        times = (
            # a fresh object each time: the same one is lifted only once
            seconds(lambda: response.forces(dataclasses.replace(packed)), repeats=50),  # noqa: B023
            seconds(lambda: response.lift(packed), repeats=50),  # noqa: B023
            seconds(lambda: response.forces_at(lift), repeats=50),  # noqa: B023
            seconds(exact),
        )
        label = f"{damper.name}, {len(damper.stack_path(name).stack.shims)} shims"
        print(
            f"{label:28s}{1e3 * times[0]:10.3f}{1e3 * times[1]:12.3f}{1e3 * times[2]:10.3f}{1e3 * times[3]:10.1f}"
        )


def measure_response() -> None:
    """How far the search's answer is from the exact one, for stacks one to three changes away."""
    print("search's answer against the whole curve, largest over 12 velocities of each of 60 stacks")
    velocities = np.geomspace(0.03, 2.0, 12)
    for make, name in ((monotube, "compression stack"), (fork_cartridge, "base stack")):
        damper = make()
        response = StackResponse(damper, valve=name, velocities=velocities)
        present = damper.stack_path(name).stack
        before = response.exact_forces(response.packed(present))
        for changes in (1, 2, 3):
            off, moved = [], []
            for seed in range(60):
                shims = present
                for k in range(changes):
                    shims = one_change(shims, 100 * seed + k)
                packed = response.packed(shims)
                exact = response.exact_forces(packed)
                off.append(np.abs(response.forces(packed) / exact - 1).max())
                moved.append(np.abs(exact / before - 1).max())
            row = " ".join(f"{100 * np.quantile(off, part):8.3f} %" for part in (0.5, 0.9, 1.0))
            label = f"{damper.name}, {changes} change{'s' if changes > 1 else ''}"
            print(f"  {label:28s} median, nine in ten, worst {row}   (force moved by {np.median(moved):.1%})")


if __name__ == "__main__":
    force_curve(monotube(), velocities=BOTH)
    time_curves()
    time_response()
    measure_response()
    count_random(int(sys.argv[1]) if len(sys.argv) > 1 else 5000)
