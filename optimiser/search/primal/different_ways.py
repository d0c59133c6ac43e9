"""Different ways to a goal: the best predicted in each part of the stack, judged exactly.

A search for the closest stacks finds one idea in ten shades. Here changes are grouped by where in the stack
they do their work, the best predicted of each group are evaluated, and those that meet the goal are kept.
Nothing is proven by it; what it finds is as exact as any other stack.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.model.ways import Moved, Way, Zones, way_through
from optimiser.search.evaluator import Accuracy, Evaluator, Request, log_of
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.primal.groups import Combined, Group, grouped
from optimiser.search.primal.moves import Moves
from optimiser.search.primal.orders import Ordered, nearer_orders
from optimiser.search.space.shape import Shape

Floats = NDArray[np.float64]

MOST_GROUPS, FEW_GROUPS = 40, 12
"""Groups of changes that are looked at for a number of changes, the nearest first; few where fewer changes
meet the goal already. [-]"""

AT_A_TIME: Final = 4
"""Stacks of a group that are evaluated before the rest of it is ranked anew. [-]"""

ROUNDS: Final = 4
"""Times that a group is looked at, at most. [-]"""

HOPE: Final = 1.3
"""A group whose best is predicted to lie further than this from the middle of a window is left, in
half-widths. [-]"""

EXACT, FEW_EXACT = 4, 1
"""Stacks of a group that are evaluated exactly, likewise. [-]"""

SECOND: Final = 2
"""Up to this number of changes every combination is looked at, not only what the nearest go on to. [-]"""

BEAM: Final = 200
"""Combinations that are carried on to a third change and beyond. [-]"""

COARSE_MARGIN: Final = 0.012
"""Share of the force that a stack may coarsely miss a window by and still be evaluated exactly. [-]"""

CLICK: Final = 0.02
"""What a click counts for beside a shim, in half-widths of a window: of settings alike the nearer one. [-]"""


@dataclass(frozen=True, slots=True)
class Proposed:
    """A stack at a setting, with its exact forces.

    Parameters
    ----------
    stack, setting : which.
    forces : resisting, at each velocity of the goal. [N]
    """

    stack: Stack
    setting: int
    forces: Floats


@dataclass(frozen=True, slots=True)
class _Judged:
    """A stack with its coarse misfit. [-]"""

    misfit: float
    group: int
    member: Combined
    stack: Stack


class DifferentWays:
    """Stacks with one number of changes after another, spread over the parts of the stack.

    Parameters
    ----------
    shape : where shims may leave and come.
    old : the stack as it is.
    evaluator : what asks the physics.
    metrics : figures of the goal.
    setting : of the adjusters, present.
    unchanged : for each other setting the logarithm of force of the stack as it is (velocities,).
    buildable : whether shelf, height and rules allow a stack.
    """

    def __init__(
        self,
        shape: Shape,
        *,
        old: Stack,
        evaluator: Evaluator,
        metrics: GoalMetrics,
        setting: int,
        unchanged: dict[int, Floats],
        buildable: Callable[[Stack], bool],
    ) -> None:
        self.evaluator, self.metrics, self.setting, self.buildable = evaluator, metrics, setting, buildable
        self.old, self.unchanged = old, unchanged
        self._margin = COARSE_MARGIN / float(np.min(metrics.relative_half_width))
        self._moves = Moves(shape, evaluator=evaluator, setting=setting)
        self._steps = [] if self._moves.before is None else self._moves.steps()
        self._added = np.array([self._moves.own[list(step)].sum(axis=0) for step in self._steps])
        self._ways = self._ways_of_steps(shape)
        self._beam: list[Combined] = []

    def with_changes(self, changes: int, *, few: bool = False) -> Iterator[Proposed]:
        """Stacks with just so many changes, and what they do; ask in rising order from 1.

        Those that should meet the goal, and the nearest whether it does or not.

        Parameters
        ----------
        changes : of shims.
        few : whether a few of them will do.
        """
        before = self._moves.before
        if before is None or not self._steps:
            return
        groups = self._groups(changes, before, most=FEW_GROUPS if few else MOST_GROUPS)
        each = FEW_EXACT if few else EXACT
        judged: list[_Judged] = []
        seen: set[tuple[tuple[int, ...], int]] = set()
        left = list(range(len(groups)))
        for _ in range(ROUNDS):
            judged += self._evaluated(groups, left, changes, seen)
            left = [place for place in left if groups[place].rank_rest(self.metrics.off_middle) <= HOPE]
        judged.sort(key=lambda one: one.misfit)
        self._carry_on(judged, changes, before)
        counts: dict[int, int] = {}
        exact: list[_Judged] = []
        for one in judged:
            hopeful = one.misfit <= self._margin and counts.get(one.group, 0) < each
            if hopeful or not exact:
                counts[one.group] = counts.get(one.group, 0) + 1
                exact.append(one)
        packed = [self.evaluator.physics.packed(one.stack) for one in exact]
        answers = self.evaluator.evaluate(
            [
                Request(plates, one.member.setting, Accuracy.EXACT)
                for plates, one in zip(packed, exact, strict=True)
            ]
        )
        known = [
            (one.stack, Ordered(self._orders(one.member), forces, one.member.setting))
            for one, forces in zip(exact, answers, strict=True)
            if forces is not None
        ]
        nearer = nearer_orders([one for _, one in known], evaluator=self.evaluator, metrics=self.metrics)
        for (stack, (_, forces, setting)), other in zip(known, nearer, strict=True):
            yield Proposed(stack, setting, forces)
            if other is not None:
                yield Proposed(other[0], setting, other[1])

    def _orders(self, one: Combined) -> list[Stack]:
        return self._moves.orders(self._moves.sites(self._moves_of(one)))

    def _ways_of_steps(self, shape: Shape) -> list[int]:
        """A number for the way of each step; -1 where it leads to no stack."""
        numbers: dict[Way, int] = {}
        zones, found = Zones(self.old), []
        counts = [len(slot.before) + len(slot.kept) + len(slot.after) for slot in shape.slots]
        places = [0, *np.cumsum(counts).tolist()]
        for step in self._steps:
            outs, ins = self._moves.leaving_and_coming(step)
            if self._moves.stack(self._moves.sites(step)) is None:
                found.append(-1)
                continue
            way = way_through(
                zones,
                outs=[Moved(site.key, places[site.place]) for site in outs],
                ins=[Moved(site.key, places[site.place]) for site in ins],
            )
            found.append(numbers.setdefault(way, len(numbers)))
        return found

    def _groups(self, changes: int, before: Floats, *, most: int) -> list[Group]:
        """Combinations with one change more than the last time; at the first, adjusters may turn too."""
        bases = self._beam
        if changes == 1:
            turned = sorted(self.unchanged.items())
            bases = [Combined((), before, self.setting, ())]
            bases += [Combined((), logs, setting, (-1,)) for setting, logs in turned]
        return grouped(
            bases,
            added=self._added,
            ways=self._ways,
            distance=self.metrics.off_middle,
            penalties=[CLICK * self._clicks(base.setting) for base in bases],
            most=most,
            ordered=changes == SECOND,
        )

    def _carry_on(self, judged: list[_Judged], changes: int, before: Floats) -> None:
        """What the next change is added to: every first step, and later on the nearest combinations."""
        self._beam = [one.member for one in judged[:BEAM]]
        if changes == 1:
            self._beam = [
                Combined((step,), before + self._added[step], self.setting, (way,))
                for step, way in enumerate(self._ways)
                if way >= 0
            ]

    def _clicks(self, setting: int) -> int:
        settings = self.evaluator.physics.settings
        return sum(abs(at - settings[self.setting][name]) for name, at in settings[setting].items())

    def _evaluated(
        self, groups: list[Group], left: list[int], changes: int, seen: set[tuple[tuple[int, ...], int]]
    ) -> Iterator[_Judged]:
        """The next few of each group that can be built, with what the coarse force says of them."""
        chosen: list[tuple[int, Combined, Stack]] = []
        for place in left:
            group, count = groups[place], 0
            while count < AT_A_TIME and group.tried < len(group.members):
                member = group.members[group.tried]
                group.tried += 1
                stack = self._buildable(member, changes, seen)
                if stack is not None:
                    chosen.append((place, member, stack))
                    count += 1
        packed = [self.evaluator.physics.packed(stack) for _, _, stack in chosen]
        answers = self.evaluator.evaluate(
            [
                Request(plates, member.setting, Accuracy.COARSE)
                for plates, (_, member, _) in zip(packed, chosen, strict=True)
            ]
        )
        for (place, member, stack), forces in zip(chosen, answers, strict=True):
            if forces is not None:
                groups[place].correct(member, log_of(forces))
                yield _Judged(self.metrics.misfit(forces), place, member, stack)

    def _moves_of(self, one: Combined) -> list[int]:
        return [move for step in one.steps for move in self._steps[step]]

    def _buildable(self, one: Combined, changes: int, seen: set[tuple[tuple[int, ...], int]]) -> Stack | None:
        """The stack of a combination; None when it was seen, or cannot be built with so many changes."""
        moves = self._moves_of(one)
        name = self._moves.sites(moves), one.setting
        if name in seen or self._moves.changes(moves) != changes:
            return None
        seen.add(name)
        stack = self._moves.stack(name[0])
        return stack if stack is not None and self.buildable(stack) else None
