"""Candidates in order, with the reasons: how well a stack meets a goal, and what it is best at."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.model.answer import Candidate
from optimiser.model.edits import changes_between, keys_of
from optimiser.model.goal import LEAST_FORCE, Goal, Role, mean_change
from optimiser.model.stock import ShimKey, Stock
from optimiser.model.taken import taken_from

Floats = NDArray[np.float64]

LEAST_WIDTH = 1e-9
"""Averages narrower than this are not divided by. [-]"""

SHARPEST = 99.0
"""The ratio of a change on target to any other is not counted beyond this. [-]"""

APART = 1.5
"""Velocities of one stroke that lie within this factor move along with each other; common practice, no
source. [-]"""

BROAD = 1.5
"""A change on target that is less than so many times the largest change elsewhere is a broad one; common
practice, no source. [-]"""

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
    """Average change of each band of which an average is asked, as a logarithm. [-]"""
    ratio = np.maximum(forces, LEAST_FORCE) / np.maximum(goal.before, LEAST_FORCE)
    return [float(np.log(ratio[part]) @ weights) for part, weights, _ in goal.averages]


def target_error(goal: Goal, forces: Floats) -> float:
    """Largest distance from what is wanted over the target windows, as a share of the force wanted. [-]

    Of the average change where a window asks for an average, at the worst velocity elsewhere.
    """
    mask = role_mask(goal, Role.TARGET)
    worst = 0.0
    for (part, _, asked), mean in zip(goal.averages, mean_changes(goal, forces), strict=True):
        if mask[part.start]:
            worst = max(worst, abs(mean - asked.desired))
        mask[part] = False
    return max(worst, _largest(forces, goal.desired, mask))


def change_elsewhere(goal: Goal, forces: Floats) -> float:
    """Largest change over the held windows, relative to the force before. [-]"""
    return _largest(forces, goal.before, role_mask(goal, Role.HOLD))


def aimed(goal: Goal, forces: Floats) -> float | None:
    """Average change on target over the largest change anywhere else; of several targets the least moved. [-]

    Elsewhere are the held bands, and whatever else is judged that lies :data:`APART` from every target. None
    where there is nothing of the kind, and at most :data:`SHARPEST`.
    """
    changes = forces / np.maximum(goal.before, LEAST_FORCE) - 1
    mask = role_mask(goal, Role.TARGET)
    targets = goal.velocities[mask]
    ratio = goal.velocities[:, None] / targets[None, :]
    near = ((ratio > 1 / APART) & (ratio < APART)).any(axis=1)
    other = role_mask(goal, Role.HOLD) | (role_mask(goal, Role.FAMILIARITY) & ~near)
    if not mask.any() or not other.any():
        return None
    on_target, start = [], 0
    for window in goal.windows:
        here = forces[start : start + len(window.velocities)]
        start += len(window.velocities)
        if window.role is Role.TARGET:
            on_target.append(abs(float(np.expm1(mean_change(window, here)))))
    return min(min(on_target) / max(float(np.abs(changes[other]).max()), LEAST_WIDTH), SHARPEST)


def role_mask(goal: Goal, role: Role) -> NDArray[np.bool_]:
    """Which of the goal's velocities belong to windows of a role."""
    return np.array([window.role is role for window in goal.windows for _ in window.velocities], dtype=bool)


def _largest(forces: Floats, base: Floats, mask: NDArray[np.bool_]) -> float:
    share = np.abs(forces - base)[mask] / np.maximum(np.abs(base[mask]), LEAST_FORCE)
    return float(np.max(share, initial=0.0))


def scarcity(old: Stack, new: Stack, stock: Stock) -> float:
    """Largest share of what the shelf has of one type that a stack uses; what comes out is free. [-]"""
    return max((one.count / max(one.of, 1) for one in taken_from(stock, old=old, new=new)), default=0.0)


def candidate(*, old: Stack, new: Stack, setting: int, forces: Floats, goal: Goal, stock: Stock) -> Candidate:
    """A stack with every figure that it is judged by."""
    return Candidate(
        stack=new,
        setting=setting,
        changes=changes_between(old, new),
        forces=tuple(float(f) for f in forces),
        misfit=misfit(goal, forces),
        target_error=target_error(goal, forces),
        change_elsewhere=change_elsewhere(goal, forces),
        scarcity=scarcity(old, new, stock),
        aimed=aimed(goal, forces),
    )


def order(one: Candidate, *, present: int) -> tuple[bool | float | tuple[ShimKey, ...], ...]:
    """The order of a list for people: fewest changes, adjusters as they are, aimed before broad, closeness.

    Parameters
    ----------
    one : to be placed.
    present : the setting that the damper is at.
    """
    return len(one.changes), one.setting != present, broad(one), *closeness(one)


def broad(one: Candidate) -> bool:
    """Whether a candidate moves everything else by nearly as much as the target, see :data:`BROAD`."""
    return one.aimed is not None and one.aimed < BROAD


def closeness(one: Candidate) -> tuple[int, float, float, float, tuple[ShimKey, ...], int]:
    """The order of a search: fewest changes, miss, change elsewhere, scarcity; else in order of size."""
    return (
        len(one.changes),
        round(one.target_error, TIES),
        round(one.change_elsewhere, TIES),
        round(one.scarcity, TIES),
        keys_of(one.stack),
        one.setting,
    )


REASONS: tuple[tuple[str, Callable[[Candidate], float]], ...] = (
    ("fewest changes", lambda one: len(one.changes)),
    ("closest to the target", lambda one: round(one.target_error, TIES)),
    ("least change elsewhere", lambda one: round(one.change_elsewhere, TIES)),
    ("best aimed", lambda one: -round(one.aimed or 0.0, TIES)),
    ("easiest on the shelf", lambda one: round(one.scarcity, TIES)),
)


def ranked(candidates: Iterable[Candidate], *, wanted: int, present: int) -> tuple[Candidate, ...]:
    """The ``wanted`` closest candidates in order, each saying what no other of them does better."""
    return with_reasons(in_order(sorted(candidates, key=closeness)[:wanted], present=present))


def in_order(candidates: Iterable[Candidate], *, present: int) -> list[Candidate]:
    """Candidates as :func:`order` has them."""
    return sorted(candidates, key=lambda one: order(one, present=present))


def with_reasons(listed: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Candidates of a list, each saying what no other of them does better.

    A candidate that no other equals or beats in every figure is on the front and says so, even if it leads
    in none.
    """
    figures = [tuple(figure(one) for _, figure in REASONS) for one in listed]
    marked = []
    for one, own in zip(listed, figures, strict=True):
        best = [
            words
            for place, (words, _) in enumerate(REASONS)
            if own[place] == min(other[place] for other in figures)
            and any(own[place] != other[place] for other in figures)
        ]
        beaten = any(
            other != own and all(a <= b for a, b in zip(other, own, strict=True)) for other in figures
        )
        if not best and not beaten:
            best = ["a balance that none of the others beats"]
        marked.append(replace(one, best_at=tuple(best)))
    return tuple(marked)
