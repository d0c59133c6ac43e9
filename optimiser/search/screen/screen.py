"""The screen: shapes of which many members are open are gone through member by member.

Most of many members miss a goal by far, and sums of what their shims do rule them out. Near the edge of a
window families do not close, and to bound them takes more questions than they have members. Then all members
are listed, some are asked for coarse forces, and a surrogate made from these rules out most others. It waits
until the tree has asked some questions about each shape, since small trees end without it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final, NamedTuple, Protocol, runtime_checkable

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.search.bounds.node import Node
from optimiser.search.forecast import Against, AgainstLimits
from optimiser.search.objective import LeastMisfit
from optimiser.search.parallel.tasks import in_processes
from optimiser.search.screen.by_sums import BySums
from optimiser.search.screen.evaluated_members import EvaluatedMembers
from optimiser.search.screen.figures import ShapeFigures
from optimiser.search.screen.member_screen import MemberScreen, Screened
from optimiser.search.screen.member_table import MemberTable
from optimiser.search.space.family import Family
from optimiser.search.space.shape import Shape
from optimiser.search.space.sites import Patch
from optimiser.search.tree.best_first import BestFirstTree

Floats = NDArray[np.float64]

PRICE: Final = 40
"""Questions about a shape, on average, that are asked without a screen. [-]"""

WORTH: Final = 2000
"""Members that a shape has at least when it is screened. [-]"""

MOST_MEMBERS: Final = 400_000
"""Members at most of a shape that is screened by itself, since all of them are in memory. [-]"""

WORTH_SUMS: Final = 1_000_000
"""Members that all shapes have at least when they are gone through by sums. [-]"""

LATER: Final = 10_000
"""Questions that are asked before fewer are, too. [-]"""

NEAREST: Final = 40
"""Stacks ruled out that are named for a check, about as many of each shape. [-]"""


@runtime_checkable
class Screenable(Protocol):
    """An objective that members can be held against before any of them is a node."""

    @property
    def against(self) -> Against:
        """What keeps a stack from being accepted, as it stands now."""
        ...


class Predicted(NamedTuple):
    """What was ruled out by forces predicted from those of others.

    Parameters
    ----------
    sets : of shims, how many.
    nearest : of these some stacks that should come nearest to the goal.
    """

    sets: int
    nearest: list[Stack]


class Screen:
    """Rules out members of a tree's open families.

    Parameters
    ----------
    tree : whose.
    cores : processes at most; what is ruled out does not depend on it.
    """

    def __init__(self, tree: BestFirstTree, *, cores: int) -> None:
        self._tree, self._cores = tree, cores
        self._counted_from = self._restarted_at = 0
        self._given_up = self._sums_given_up = self._sums_wait = False
        self._done: list[tuple[tuple[Shape, ...], Screened]] = []
        self._large: list[BySums] = []

    def restart(self, questions: int) -> None:
        """From now on the tree asks about other families."""
        self._given_up = self._sums_given_up = self._sums_wait = False
        self._restarted_at = questions
        self.begin(questions)

    def begin(self, questions: int) -> None:
        """From now on count what the tree asks."""
        self._counted_from = questions

    def is_due(self, questions: int, shapes: int, *, is_hard: bool) -> bool:
        """Whether the tree has asked enough questions about so many shapes without it."""
        if is_hard:
            open_ways = not (self._given_up and self._sums_given_up)
            return open_ways and questions - self._counted_from >= PRICE * shapes
        price = LATER if self._sums_wait else PRICE * shapes
        return not self._sums_given_up and questions - self._restarted_at >= price

    def rule_out(
        self, nodes: Sequence[Node], against: Against, wait: Callable[[], None], *, is_hard: bool
    ) -> list[Node]:
        """What is left of open nodes: those of few members as they are, of others single stacks.

        Parameters
        ----------
        nodes : open families and stacks.
        against : what their forces are held against.
        wait : called now and then; may raise to end it.
        is_hard : whether families are likely to close only when they are down to a few members.
        """
        by_shape: dict[int, list[Node]] = {}
        kept = []
        for node in nodes:
            if node.is_single:
                kept.append(node)
            else:
                by_shape.setdefault(id(node.family.shape), []).append(node)
        tried = self._sums_have_use(list(by_shape.values()), is_hard=is_hard)
        if tried and isinstance(against, AgainstLimits):
            left = self._left_by_sums(_families(by_shape.values()), against, wait)
            if left is not None:
                self._tree.count.ruled_out += sum(map(_members, by_shape.values())) - len(left)
                return kept + left
        # while members are few and questions, too, the tree may yet end by itself
        self._sums_wait = not tried and not self._sums_wait and not is_hard
        self._sums_given_up = not self._sums_wait
        if not is_hard:
            return list(nodes)
        worth = []
        for same in by_shape.values():
            if WORTH <= _members(same) <= MOST_MEMBERS:
                worth.append(same)
            else:
                kept += same
        # the largest first, so that no core is left with one at the end
        worth.sort(key=_members, reverse=True)
        # should the least be given up, so are the others
        for group in (worth[-1:], worth[:-1]):
            if self._given_up:
                kept += [node for same in group for node in same]
                continue
            tasks = _families(group)
            self._tree.evaluator.release_threads()
            found = in_processes(
                lambda families, pause: self._screened(families, against, pause),
                tasks,
                wait=wait,
                cores=self._cores,
            )
            for same, one in zip(group, found, strict=True):
                kept += self._left(same, one, against)
        return kept

    def _sums_have_use(self, nodes: Sequence[Sequence[Node]], *, is_hard: bool) -> bool:
        """Whether there are so many members, far from the goal or too many for anything else."""
        members = [_members(same) for same in nodes]
        return (
            not self._sums_given_up
            and sum(members) >= (WORTH if self._sums_wait else WORTH_SUMS)
            and (not is_hard or max(members) > MOST_MEMBERS)
        )

    def _left_by_sums(
        self, families: Sequence[Sequence[Family]], against: AgainstLimits, wait: Callable[[], None]
    ) -> list[Node] | None:
        """What sums, and a screen after them, leave of families; None where that is too much."""
        one = BySums(self._tree, families, against, cores=self._cores, wait=wait)
        worth = one.rule_out()
        self._tree.evaluator.evaluations += one.evaluations
        if not worth:
            return None
        self._large.append(one)
        left = [node for screened in one.further for node in self._leaves(one.shapes, screened, against)]
        unanswered = one.unanswered
        return left + [
            leaf for place in range(len(unanswered)) for leaf in self._leaves_of(unanswered, place, None)
        ]

    @property
    def predicted(self) -> Predicted:
        """What was ruled out by forces predicted from those of others."""
        sets = 0
        nearest: list[Stack] = []
        for shapes, one in self._done:
            sets += len(one.predicted)
            nearest += self._nearest(shapes, one, -(-NEAREST // len(self._done)))
        for large in self._large:
            sets += large.ruled_out + sum(len(one.predicted) for one in large.further)
            nearest += large.nearest(NEAREST)
            each = -(-NEAREST // max(len(large.further), 1))
            nearest += [stack for one in large.further for stack in self._nearest(large.shapes, one, each)]
        return Predicted(sets, nearest)

    def _nearest(self, shapes: tuple[Shape, ...], one: Screened, count: int) -> Iterator[Stack]:
        """Stacks that were ruled out, of the nearest so many those that can be built."""
        table = MemberTable(shapes, one.shape_of, one.outs, one.ins)
        return table.stacks(one.predicted[:count], self._tree.members.buildable)

    def reopened(self, objective: LeastMisfit, wait: Callable[[], None]) -> Iterator[Node]:
        """Stacks that were ruled out and may come nearer than the incumbent."""
        done, self._done = self._done, []
        against = AgainstLimits(objective.metrics, objective.limits)
        for shapes, one in done:
            table = MemberTable(shapes, one.shape_of, one.outs, one.ins)
            near = EvaluatedMembers(table, self._tree, self._tree.evaluator, wait)
            near.evaluate(np.flatnonzero(one.least_misfit < objective.best.misfit).tolist())
            now = replace(
                one,
                evaluated=np.append(one.evaluated, near.places).astype(np.intp),
                logs=np.vstack([one.logs, near.logs]),
                unanswered=(*one.unanswered, *near.unanswered),
            )
            yield from self._leaves(shapes, now, against)
        large, self._large = self._large, []
        for every in large:  # so many that they are gone through anew rather than remembered
            left = self._left_by_sums(every.families, against, wait)
            if left is None:
                self._tree.add(one for same in every.families for one in same)
            yield from left or ()

    def _screened(self, families: Sequence[Family], against: Against, wait: Callable[[], None]) -> Screened:
        """Members of families of one shape, gone through."""
        figures = ShapeFigures(families[0].shape, self._tree.data, self._tree.goal)
        table = MemberTable.of(families)
        table = table.only(figures.allowed(table))
        inputs = figures.inputs(table)
        kinds = figures.crossovers(inputs)
        return MemberScreen(table, inputs, kinds, tree=self._tree, against=against, wait=wait).rule_out()

    def _left(self, nodes: Sequence[Node], one: Screened, against: Against) -> list[Node]:
        """What a screen leaves of families of one shape."""
        self._tree.evaluator.evaluations += one.evaluations
        if not one.worth:
            self._given_up = True
            return list(nodes)
        shape = nodes[0].family.shape
        self._done.append(((shape,), one))
        left = list(self._leaves((shape,), one, against))
        self._tree.count.ruled_out += _members(nodes) - len(left)
        return left

    def _leaves(self, shapes: tuple[Shape, ...], one: Screened, against: Against) -> Iterator[Node]:
        """Nodes of the members that are left, in every order of their packs."""
        table = MemberTable(shapes, one.shape_of, one.outs, one.ins)
        for row in one.left(against).tolist():
            yield from self._leaves_of(table, int(one.evaluated[row]), one.logs[row])
        for place in one.unanswered:
            yield from self._leaves_of(table, place, None)

    def _leaves_of(self, table: MemberTable, place: int, logs: Floats | None) -> Iterator[Node]:
        """Nodes of a member in every order of its packs, with logarithms of its forces where known."""
        outs, ins = table.sites(place)
        shape = table.shape(place)
        whole = Family(shape, _all(shape.leaving, len(outs)), _all(shape.coming, len(ins)))
        yield from self._tree.leaves(whole.with_moves(outs, ins), logs)


def _families(nodes: Iterable[Sequence[Node]]) -> list[list[Family]]:
    """Families of nodes, shape by shape."""
    return [[node.family for node in same] for same in nodes]


def _members(nodes: Sequence[Node]) -> int:
    """How many members all of their families have at most."""
    return sum(node.family.most_members for node in nodes)


def _all(patch: Patch | None, count: int) -> tuple[tuple[Patch, int], ...]:
    return () if patch is None or not count else ((patch, count),)
