"""The screen of shapes with millions of members: gone through kind by kind of crossover, a few in memory.

Where crossovers are alike the force is nearly a smooth function of what lies in the slots, whatever the shape
that a stack is counted with. So members of all shapes with the same slots are put together by the kind of
their crossovers. Of each kind some are asked, a surrogate made from these rules out nearly all others as they
are listed, and what is left is screened further.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import replace
from typing import Final

import numpy as np

from damping_model.stack.stack import Stack
from optimiser.search.forecast import Against
from optimiser.search.parallel.tasks import Item, Result, Task, in_processes
from optimiser.search.screen.listing import (
    CrossoverGroup,
    Floats,
    Kind,
    Listing,
    Through,
    Wait,
    alike,
    nearest_of,
    parts_of,
    size_of,
)
from optimiser.search.screen.member_screen import CHECKED, Learnt, MemberScreen, Screened
from optimiser.search.screen.member_table import AT_ONCE, MemberTable
from optimiser.search.space.family import Family
from optimiser.search.tree.best_first import BestFirstTree

DRAWN: Final = 4_000_000
"""Members that are drawn, those that cannot be built included, to see which kinds there are. [-]"""

ASKED: Final = 150
"""Members of a kind that are asked before others are ruled out. [-]"""

LARGE: Final = 5000
"""Members of a kind, about, that make it worth while; smaller ones are screened together. [-]"""

AT_A_TIME: Final = 3_000_000
"""Members that one process goes through before it takes others. [-]"""

MOST_LEFT: Final = 0.3
"""Share of the members that may be left when all were gone through; with more the screen is given up. [-]"""

MOST_TOGETHER: Final = 400_000
"""The same of one kind, since all of them are in memory. [-]"""


class ByCrossover:
    """Members of large shapes, kind by kind.

    Parameters
    ----------
    tree : of which they are.
    families : open ones, by shape.
    against : what their forces are held against.
    cores : processes at most; what is ruled out does not depend on it.
    wait : called now and then; may raise to end it.

    Attributes
    ----------
    families, shapes : the same, and their shapes.
    further : what came of what was left of each kind.
    evaluations : how often the physics was asked.
    """

    def __init__(
        self,
        tree: BestFirstTree,
        families: Sequence[Sequence[Family]],
        against: Against,
        *,
        cores: int,
        wait: Wait,
    ) -> None:
        self._tree, self._against, self._cores, self._wait = tree, against, cores, wait
        self.families = families
        self.shapes = tuple(same[0].shape for same in families)
        self._listing = Listing(tree, self.shapes, against)
        self._groups: dict[Kind, CrossoverGroup] = {}
        self._nearest: dict[Kind, tuple[MemberTable, Floats]] = {}
        self._ruled_out: dict[Kind, int] = {}
        self.further: list[Screened] = []
        self.evaluations = 0

    def rule_out(self) -> bool:
        """Rule members out until none is left open; False when too many are left to go on."""
        self._tree.evaluator.release_threads()
        self._draw()
        left: dict[Kind, MemberTable] = {}
        waiting, found = frozenset(self._groups), self._through(frozenset(self._groups), again=False)
        while True:
            left |= self._joined(one.left for one in found)
            counts = [len(one) for one in left.values()]
            if (
                sum(counts) > MOST_LEFT * sum(one.allowed for one in found)
                or max(counts, default=0) > MOST_TOGETHER
            ):
                return False
            self._ruled_out |= {kind: sum(one.ruled_out[kind] for one in found) for kind in waiting}
            waiting = self._broken(found)
            if not waiting:
                break
            found = self._through(waiting, again=True)
        order = sorted(left, key=lambda kind: (-len(left[kind]), kind))
        self.further = self._in_processes(lambda kind, wait: self._further(kind, left[kind], wait), order)
        self.evaluations += sum(one.evaluations for one in self.further)
        return True

    def _through(self, kinds: Set[Kind], *, again: bool) -> list[Through]:
        """Go through all members of these kinds; of small kinds, too, unless it is done again."""
        return self._in_processes(
            lambda part, wait: self._listing.go_through(part, self._groups, kinds, again=again, wait=wait),
            parts_of(self.families, AT_A_TIME),
        )

    @property
    def ruled_out(self) -> int:
        """Members that were ruled out as they were listed."""
        return sum(self._ruled_out.values())

    def nearest(self, count: int) -> Iterator[Stack]:
        """So many of those at most that missed the goal by least."""
        if not self._nearest:
            return
        table = MemberTable.joined([one for one, _ in self._nearest.values()])
        beyond = np.concatenate([share for _, share in self._nearest.values()])
        yield from table.stacks(np.argsort(beyond, kind="stable")[:count], self._tree.members.buildable)

    def _joined(self, tables: Iterable[Mapping[Kind, MemberTable]]) -> dict[Kind, MemberTable]:
        """Tables of each kind as one."""
        every: dict[Kind, list[MemberTable]] = defaultdict(list)
        for found in tables:
            for kind, one in found.items():
                every[kind].append(replace(one, shapes=self.shapes))
        return {kind: MemberTable.joined(some) for kind, some in every.items()}

    def _draw(self) -> None:
        """Draw members, and learn from some of each large kind."""
        random, share = np.random.default_rng(0), DRAWN / max(sum(map(size_of, self.families)), DRAWN)
        drawn: dict[Kind, list[MemberTable]] = defaultdict(list)
        for number, same in enumerate(self.families):
            self._wait()
            whole = MemberTable.drawn(same, share, random, number=number, shapes=self.shapes)
            for first in range(0, len(whole), AT_ONCE):
                some = whole.only(np.arange(first, min(first + AT_ONCE, len(whole))))
                table, _, crossovers = self._listing.allowed(number, some)
                for crossover, rows in alike(crossovers):
                    drawn[self._listing.slots[number], crossover].append(table.only(rows))
        large = {}
        for kind in sorted(drawn):
            table = MemberTable.joined(drawn[kind])
            if len(table) >= LARGE * share:
                large[kind] = table.only(random.permutation(len(table))[: 2 * ASKED])
        learnt = self._in_processes(lambda kind, wait: self._begin(large[kind], wait), list(large))
        for kind, (group, evaluations) in zip(large, learnt, strict=True):
            self.evaluations += evaluations
            if group.learnt.surrogate is not None:
                self._groups[kind] = self._with_shapes(group)

    def _begin(self, table: MemberTable, wait: Wait) -> tuple[CrossoverGroup, int]:
        one = self._screen(table, None, wait)
        learnt = one.begin(ASKED)
        return CrossoverGroup(table.only(np.arange(learnt.asked.size)).bare, learnt), one.evaluations

    def _with_shapes(self, group: CrossoverGroup) -> CrossoverGroup:
        """As it was before it was sent from one process to another."""
        return replace(group, table=replace(group.table, shapes=self.shapes))

    def _broken(self, found: Sequence[Through]) -> frozenset[Kind]:
        """Kinds of which some that were just ruled out should not be; they have wider margins from now on."""
        every: dict[Kind, list[tuple[MemberTable, Floats]]] = defaultdict(list)
        for one in found:
            for kind, (table, beyond) in one.nearest.items():
                every[kind].append((table, beyond))
        for kind, tables in every.items():
            table, beyond = nearest_of(tables, CHECKED)
            self._nearest[kind] = replace(table, shapes=self.shapes), beyond
        kinds = sorted(every)
        results = self._in_processes(self._check, kinds)
        broken = []
        for kind, (group, is_broken, evaluations) in zip(kinds, results, strict=True):
            self.evaluations += evaluations
            self._groups[kind] = self._with_shapes(group)
            if is_broken:
                broken.append(kind)
        return frozenset(broken)

    def _check(self, kind: Kind, wait: Wait) -> tuple[CrossoverGroup, bool, int]:
        group = self._groups[kind]
        table = MemberTable.joined([group.table, self._nearest[kind][0]])
        one = self._screen(table, group.learnt, wait)
        learnt, broken = one.check(len(group.table))
        return CrossoverGroup(table.bare, learnt), broken, one.evaluations

    def _further(self, kind: Kind, left: MemberTable, wait: Wait) -> Screened:
        """What is left of a kind, screened with all that is known of it."""
        group = self._groups.get(kind)
        if group is None:
            return self._screen(left, None, wait).rule_out()
        return self._screen(MemberTable.joined([group.table, left]), group.learnt, wait).rule_out()

    def _screen(self, table: MemberTable, learnt: Learnt | None, wait: Wait) -> MemberScreen:
        inputs, crossovers = self._listing.described(table)
        return MemberScreen(
            table,
            inputs,
            crossovers,
            tree=self._tree,
            against=self._against,
            wait=wait,
            learnt=learnt,
            may_be_given_up=False,
        )

    def _in_processes(self, task: Task[Item, Result], items: Sequence[Item]) -> list[Result]:
        return in_processes(task, items, wait=self._wait, cores=self._cores)
