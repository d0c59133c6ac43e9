"""Combinations of steps in groups that do their work in the same parts of the stack, ranked by a surrogate.

Effects add up in logarithms of the force. What that leaves out is much the same within a group, so it is
taken from the first members that are evaluated, and the rest of the group is ranked anew with it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

MOST_MEMBERS: Final = 600
"""Combinations of a group that are kept, the nearest predicted. [-]"""


@dataclass(frozen=True, slots=True)
class Combined:
    """Steps made together at a setting of the adjusters.

    Parameters
    ----------
    steps : places in the list of steps, in the order in which they were added.
    logs : logarithm of the force that they should give (velocities,).
    setting : of the adjusters.
    ways : numbers of the ways of the steps, in rising order.
    """

    steps: tuple[int, ...]
    logs: Floats
    setting: int
    ways: tuple[int, ...]


@dataclass(slots=True)
class Group:
    """Combinations that do their work in the same places.

    Parameters
    ----------
    members : as predicted, the nearest first.
    logs : of all of them (members, velocities).
    correction : what the prediction left out, as far as is known (velocities,).
    tried : how many members have been looked at.
    """

    members: list[Combined]
    logs: Floats
    correction: Floats
    tried: int = 0
    errors: list[Floats] = field(default_factory=list)

    def correct(self, member: Combined, logs: Floats) -> None:
        """Take in how far the prediction of a member was off."""
        self.errors.append(logs - member.logs)
        self.correction = np.median(self.errors, axis=0)

    def rank_rest(self, distance: Callable[[Floats], Floats]) -> float:
        """Rank the members that were not looked at anew; how near the best of them should come. [-]"""
        rest = distance(self.logs[self.tried :] + self.correction)
        if not rest.size:
            return float("inf")
        order = np.argsort(rest, kind="stable")
        self.logs[self.tried :] = self.logs[self.tried :][order]
        self.members[self.tried :] = [self.members[self.tried + place] for place in order]
        return float(rest[order[0]])


def grouped(
    bases: Sequence[Combined],
    *,
    added: Floats,
    ways: Sequence[int],
    distance: Callable[[Floats], Floats],
    penalties: Sequence[float],
    most: int,
    ordered: bool,
) -> list[Group]:
    """Each base with each step, in groups by the ways of their steps; the nearest groups first.

    Parameters
    ----------
    bases : combinations to go on from.
    added : what each step adds to the logarithm of force (steps, velocities).
    ways : the number of each step's way; -1 for a step that leads nowhere.
    distance : how far rows of logarithms (rows, velocities) lie from what is wanted. [-]
    penalties : added to the distance, for each base. [-]
    most : groups at most.
    ordered : whether every combination is there with its steps in rising order, so that no other is needed.
    """
    numbers = np.array(ways)
    far = np.array([distance(base.logs + added) for base in bases]) + np.array(penalties)[:, None]
    far[:, numbers < 0] = np.inf
    if ordered:
        for row, base in zip(far, bases, strict=True):
            row[: max(base.steps, default=0)] = np.inf
    labels: dict[tuple[int, ...], int] = {}
    rows: dict[tuple[int, ...], Integers] = {}
    for base in bases:
        if base.ways not in rows:
            row = np.full(numbers.max(initial=-1) + 2, -1)
            for way in set(ways) - {-1}:
                row[way] = labels.setdefault(tuple(sorted((*base.ways, way))), len(labels))
            rows[base.ways] = row[numbers]
    usable = np.flatnonzero(np.isfinite(far.ravel()))
    flat, of = far.ravel()[usable], np.array([rows[base.ways] for base in bases]).ravel()[usable]
    nearest = np.argsort(flat, kind="stable")
    order = nearest[np.argsort(of[nearest].astype(np.min_scalar_type(len(labels))), kind="stable")]
    ends = np.searchsorted(of[order], np.arange(len(labels) + 1))
    runs = [usable[order[a : min(a + MOST_MEMBERS, b)]] for a, b in pairwise(ends) if b > a]
    runs.sort(key=lambda run: (far.flat[run[0]], int(run[0])))
    return [_group(run, bases, added, numbers) for run in runs[:most]]


def _group(run: Integers, bases: Sequence[Combined], added: Floats, ways: Integers) -> Group:
    members = []
    for place in run.tolist():
        row, step = divmod(place, len(ways))
        base = bases[row]
        label = tuple(sorted((*base.ways, int(ways[step]))))
        members.append(Combined((*base.steps, step), base.logs + added[step], base.setting, label))
    logs = np.array([one.logs for one in members])
    return Group(members, logs, np.zeros(logs.shape[1]))
