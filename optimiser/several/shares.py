"""The ways to share a number of changes among the open stacks of a damper."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.model.open_stacks import DamperProblem
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.several.rows import surely_outside

Floats = NDArray[np.float64]

MOST_CHANGES: Final = 3
"""Changes over several stacks at once at most: with four, two stacks may take two each. [-]"""


@dataclass(frozen=True, slots=True)
class ShareOut:
    """How many changes each stack takes.

    Parameters
    ----------
    changes : of each open stack.
    assemblies : how many have to be opened, those among them that are open anyway.
    """

    changes: tuple[int, ...]
    assemblies: int

    @property
    def places(self) -> tuple[int, ...]:
        """Stacks that change."""
        return tuple(place for place, number in enumerate(self.changes) if number)

    @property
    def deepest(self) -> int:
        """The stack that takes most."""
        return max(range(len(self.changes)), key=lambda place: (self.changes[place], -place))


def shared_out(problem: DamperProblem, changes: int) -> tuple[ShareOut, ...]:
    """Every way to share changes among two stacks or more, those with fewest assemblies first.

    Stacks without a say take none, and of stacks whose forces do not add one does at most.
    """
    open_stacks = problem.open_stacks
    able = [place for place, one in enumerate(open_stacks) if any(one.has_say)]
    found = []
    for count in range(2, changes + 1):
        for places in combinations(able, count):
            if not all(problem.go_together(*pair) for pair in combinations(places, 2)):
                continue
            assemblies = problem.opened(places)
            for numbers in _parts(changes, count):
                each = dict(zip(places, numbers, strict=True))
                share = tuple(each.get(place, 0) for place in range(len(open_stacks)))
                found.append(ShareOut(share, assemblies))
    return tuple(sorted(found, key=lambda one: (one.assemblies, one.changes)))


def _parts(total: int, count: int) -> Iterator[tuple[int, ...]]:
    """Every way to share a number among so many, none of them nothing."""
    for numbers in product(range(1, total), repeat=count):
        if sum(numbers) == total:
            yield numbers


def may_do_alone(problem: DamperProblem, place: int, metrics: GoalMetrics, before: Floats) -> bool:
    """Whether one stack alone may meet the goal: nothing is missed where it has no say.

    Parameters
    ----------
    problem, place : the damper, and which of its open stacks.
    metrics : of the goal.
    before : force with all stacks as they are (velocities,). [N]
    """
    has_say = np.array(problem.open_stacks[place].has_say)
    if not has_say.any():
        return False
    unknown = np.where(has_say, np.inf, 0.0)
    low, high = (before - unknown)[None], (before + unknown)[None]
    return not surely_outside(metrics, metrics.limits_within(np.inf), low, high)[0]
