"""Candidates in order, with the reasons: how well a stack meets a goal, and what it is best at."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.model.answer import Candidate
from optimiser.model.edits import changes_between, keys_of
from optimiser.model.goal import LEAST_FORCE, Goal, Role
from optimiser.model.stock import ShimKey, Stock

Floats = NDArray[np.float64]

LEAST_WIDTH = 1e-9
"""Averages narrower than this are not divided by. [-]"""

TIES = 12
"""Decimals to which two figures are compared: what lies beyond is rounding of the arithmetic."""


def half_widths(goal: Goal) -> Floats:
    """Half the width of the window at each velocity. [N]"""
    return np.maximum((goal.upper - goal.lower) / 2, LEAST_FORCE)


def misfit(goal: Goal, forces: Floats) -> float:
    """Distance from the windows at the worst velocity or average, in half-widths; 0 inside. [-]"""
    outside = np.maximum(goal.lower - forces, forces - goal.upper)
    worst = float(np.max(np.maximum(outside, 0.0) / half_widths(goal), initial=0.0))
    for (_, _, asked), mean in zip(goal.averages, mean_changes(goal, forces), strict=True):
        half = max((asked.upper - asked.lower) / 2, LEAST_WIDTH)
        worst = max(worst, (asked.lower - mean) / half, (mean - asked.upper) / half)
    return worst


def mean_changes(goal: Goal, forces: Floats) -> list[float]:
    """Mean change of each band of which an average is asked, as a logarithm. [-]"""
    ratio = np.maximum(forces, LEAST_FORCE) / np.maximum(goal.before, LEAST_FORCE)
    return [float(np.log(ratio[part]) @ weights) for part, weights, _ in goal.averages]


def target_error(goal: Goal, forces: Floats) -> float:
    """Largest distance from what is wanted over the target windows, as a share of the force wanted. [-]

    Of the mean change where a window asks for an average, at the worst velocity elsewhere.
    """
    mask = role_mask(goal, Role.TARGET)
    worst = 0.0
    for (part, _, asked), mean in zip(goal.averages, mean_changes(goal, forces), strict=True):
        if mask[part.start]:
            worst = max(worst, abs(mean - asked.desired))
        mask[part] = False
    return max(worst, _largest(forces, goal.desired, mask))


def spill(goal: Goal, forces: Floats) -> float:
    """Largest change over the held windows, relative to the force before. [-]"""
    return _largest(forces, goal.before, role_mask(goal, Role.HOLD))


def role_mask(goal: Goal, role: Role) -> NDArray[np.bool_]:
    """Which of the goal's velocities belong to windows of a role."""
    return np.array([window.role is role for window in goal.windows for _ in window.velocities], dtype=bool)


def _largest(forces: Floats, base: Floats, mask: NDArray[np.bool_]) -> float:
    share = np.abs(forces - base)[mask] / np.maximum(np.abs(base[mask]), LEAST_FORCE)
    return float(np.max(share, initial=0.0))


def scarcity(old: Stack, new: Stack, stock: Stock) -> float:
    """Share of the scarcest type's stock that a stack uses up; what comes out of the damper is free. [-]"""
    needed = Counter(keys_of(new)) - Counter(keys_of(old))
    return max((count / max(stock.count(key), 1) for key, count in needed.items()), default=0.0)


def candidate(*, old: Stack, new: Stack, setting: int, forces: Floats, goal: Goal, stock: Stock) -> Candidate:
    """A stack with every figure that it is judged by."""
    return Candidate(
        stack=new,
        setting=setting,
        changes=changes_between(old, new),
        forces=tuple(float(f) for f in forces),
        misfit=misfit(goal, forces),
        target_error=target_error(goal, forces),
        spill=spill(goal, forces),
        scarcity=scarcity(old, new, stock),
    )


def order(one: Candidate) -> tuple[int, float, float, float, tuple[ShimKey, ...], int]:
    """Fewest changes, error on target, spill, scarcity; stacks alike in all of them in order of size."""
    return (
        len(one.changes),
        round(one.target_error, TIES),
        round(one.spill, TIES),
        round(one.scarcity, TIES),
        keys_of(one.stack),
        one.setting,
    )


REASONS: tuple[tuple[str, Callable[[Candidate], float]], ...] = (
    ("fewest changes", lambda one: len(one.changes)),
    ("closest to the target", lambda one: round(one.target_error, TIES)),
    ("least change elsewhere", lambda one: round(one.spill, TIES)),
    ("easiest on the shelf", lambda one: round(one.scarcity, TIES)),
)


def ranked(candidates: Iterable[Candidate], *, wanted: int) -> tuple[Candidate, ...]:
    """The first ``wanted`` candidates in order, each saying what no other of them does better.

    A candidate that no other equals or beats in every figure is on the front and says so, even if it leads
    in none.
    """
    listed = sorted(candidates, key=order)[:wanted]
    figures = [tuple(figure(one) for _, figure in REASONS) for one in listed]
    marked = []
    for one, own in zip(listed, figures, strict=True):
        best = [
            words
            for place, (words, _) in enumerate(REASONS)
            if own[place] == min(other[place] for other in figures)
        ]
        beaten = any(
            other != own and all(a <= b for a, b in zip(other, own, strict=True)) for other in figures
        )
        if not best and not beaten:
            best = ["a balance that none of the others beats"]
        marked.append(replace(one, best_at=tuple(best)))
    return tuple(marked)
