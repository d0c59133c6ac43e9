"""Stacks drawn from what was ruled out: some at random, and of many those that should come nearest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from typing import Final

import numpy as np

from damping_model.errors import ModelError
from damping_model.stack.stack import Stack
from optimiser.model.open_stacks import OpenStack
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.several.rows import misfits
from optimiser.several.sums import Places, Sums

AT_RANDOM: Final = 10
NEAREST: Final = 15
"""Stacks that are drawn of each way to share changes out. [-]"""

LOOKED_AT: Final = 20_000
"""Sums of which the nearest are taken. [-]"""


def drawn_sums(sums: Sums, present: Sequence[Stack], metrics: GoalMetrics) -> Iterator[tuple[Stack, ...]]:
    """Stacks of some sums.

    Parameters
    ----------
    sums : that were ruled out.
    present : all open stacks as they are.
    metrics : of the goal.
    """
    rows = _some(sums)
    near = np.argsort(misfits(metrics, sums.before + sums.coarse(rows)), kind="stable")[:NEAREST]
    for row in (*rows[:AT_RANDOM], *rows[near]) if len(rows) else ():
        yield sums.stacks(row, present)


def drawn_beside(
    sums: Sums,
    present: Sequence[Stack],
    metrics: GoalMetrics,
    *,
    place: int,
    one: OpenStack,
    drawn: Sequence[Stack],
    setting: int,
) -> Iterator[tuple[Stack, ...]]:
    """Stacks that were drawn from a tree, each beside the sum with which it should come nearest.

    Parameters
    ----------
    sums, present, metrics : as of :func:`drawn_sums`.
    place, one, drawn : the tree's stack, its place in the damper, and what was drawn.
    setting : of the adjusters.
    """
    rows = _some(sums)
    if not len(rows):
        return
    beside = sums.before + sums.coarse(rows)
    ranked = []
    for number, stack in enumerate(drawn):
        with suppress(ModelError):
            coarse = one.physics.coarse_forces(one.physics.packed(stack), setting)
            off = misfits(metrics, beside + (coarse - sums.before))
            ranked.append((float(off.min()), number, int(off.argmin())))
    for _, number, row in sorted(ranked)[:NEAREST]:
        stacks = list(sums.stacks(rows[row], present))
        stacks[place] = drawn[number]
        yield tuple(stacks)


def _some(sums: Sums) -> Places:
    """Sums drawn at random (sums, lists)."""
    random = np.random.default_rng(0)
    sizes = [len(one.stacks) for one in sums.lists]
    if not all(sizes):
        return np.zeros((0, len(sizes)), dtype=np.intp)
    return np.column_stack([random.integers(size, size=LOOKED_AT) for size in sizes]).astype(np.intp)
