"""Members that miss a goal by far, ruled out by adding up what each shim does, before any is screened.

Shapes with the same slots share an additive model. All members are gone through, each way to take shims out
with each way to put others in. Of those that were ruled out by least some are asked; should one of them not
miss the goal after all, margins are doubled. While many are left some of these are asked, and all are gone
through anew. What is left is screened.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.search.forecast import AgainstLimits
from optimiser.search.parallel.tasks import in_processes
from optimiser.search.screen.additive_model import AdditiveModel
from optimiser.search.screen.listing import Listing, Slots, Wait, nearest_of, parts_of, size_of
from optimiser.search.screen.member_sample import ASKED, MemberSample, MemberSampler
from optimiser.search.screen.member_screen import CHECKED, MemberScreen, Screened
from optimiser.search.screen.member_table import MemberTable
from optimiser.search.screen.shape_sums import ShapeSums
from optimiser.search.space.family import Family
from optimiser.search.tree.best_first import BestFirstTree

Floats = NDArray[np.float64]

DRAWN: Final = 100_000
"""Members of shapes with the same slots that are drawn, those that cannot be built included. [-]"""

AT_A_TIME: Final = 20_000_000
"""Members that one process goes through before it takes others. [-]"""

FEW: Final = 100_000
"""With no more left they are not gone through anew. [-]"""

MOST_LEFT: Final = 400_000
"""Members that may be left, since all of them are in memory. [-]"""

MOST_NEAREST: Final = 10 * CHECKED
"""Members ruled out by least that are remembered. [-]"""

SCREENED_AT_ONCE: Final = 25_000
"""Members that one process screens. [-]"""

ROUNDS: Final = 5
"""How often all are gone through at most. [-]"""


class LeftOfPart(NamedTuple):
    """What came of some members of one shape.

    Parameters
    ----------
    left : those that may meet the goal; with too many of them the rest was not gone through.
    nearest : those that were ruled out by least, and the share of the force by which they miss the goal.
    """

    left: MemberTable
    nearest: tuple[MemberTable, Floats]


class BySums:
    """Members of families, gone through by what their shims do.

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
    further : what came of a screen of those that sums left.
    """

    def __init__(
        self,
        tree: BestFirstTree,
        families: Sequence[Sequence[Family]],
        against: AgainstLimits,
        *,
        cores: int,
        wait: Wait,
    ) -> None:
        self._tree, self._against, self._cores, self._wait = tree, against, cores, wait
        self.families = families
        self.shapes = tuple(same[0].shape for same in families)
        self._listing = Listing(tree, self.shapes)
        self._sampler = MemberSampler(tree, against, self._listing)
        self._numbers: dict[Slots, list[int]] = defaultdict(list)
        for number, slots in enumerate(self._listing.slots):
            self._numbers[slots].append(number)
        self._widening = dict.fromkeys(self._numbers, tree.spread.widening)
        self._samples: dict[Slots, MemberSample] = {}
        self._left: dict[Slots, MemberTable] = {}
        self._nearest: dict[Slots, MemberTable] = {}
        self.further: list[Screened] = []

    def rule_out(self) -> bool:
        """Go through all members; False when too many are left to go on."""
        self._tree.evaluator.release_threads()
        self._samples = self._for_each(self._drawn, self._numbers)
        before = np.inf
        for number in range(ROUNDS):
            if not self._go_through():
                return False
            if self._margins_are_doubled():
                continue
            count, again = sum(map(len, self._left.values())), number + 1 < ROUNDS
            if count <= MOST_LEFT and not (again and FEW < count < before / 2):
                self._screen_the_rest()
                return True
            before = count
            self._add_to_samples(self._some_left, self._left)
        return False

    @property
    def ruled_out(self) -> int:
        """Sets of shims that were ruled out by sums, those that cannot be built included."""
        return sum(map(size_of, self.families)) - sum(map(len, self._left.values()))

    @property
    def evaluations(self) -> int:
        """How often the physics was asked."""
        asked = sum(one.evaluations for one in self._samples.values())
        return asked + sum(one.evaluations for one in self.further)

    @property
    def unanswered(self) -> MemberTable:
        """Members that were asked and that the model has no coarse forces of."""
        return self._joined([one.unanswered for one in self._samples.values()])

    def nearest(self, count: int) -> Iterator[Stack]:
        """Stacks that were ruled out by least, so many at most."""
        each = -(-count // max(len(self._nearest), 1))
        for table in self._nearest.values():
            yield from table.stacks(np.arange(min(each, len(table))), self._tree.members.buildable)

    def _for_each(
        self, task: Callable[[Slots, Wait], MemberSample], slots: Iterable[Slots]
    ) -> dict[Slots, MemberSample]:
        every = list(slots)
        return dict(zip(every, in_processes(task, every, wait=self._wait, cores=self._cores), strict=True))

    def _add_to_samples(
        self, task: Callable[[Slots, Wait], MemberSample], slots: Iterable[Slots]
    ) -> dict[Slots, MemberSample]:
        found = self._for_each(task, slots)
        for one, sample in found.items():
            self._samples[one] = self._samples[one].with_more(sample)
        return found

    def _drawn(self, slots: Slots, wait: Wait) -> MemberSample:
        """Ask some of all."""
        random, numbers = np.random.default_rng(0), self._numbers[slots]
        share = min(DRAWN / max(sum(size_of(self.families[number]) for number in numbers), 1), 1.0)
        tables = []
        for number in numbers:
            one = MemberTable.drawn(self.families[number], share, random, number=number, shapes=self.shapes)
            tables.append(one.only(self._listing.figures[number].allowed(one)))
        table = MemberTable.joined(tables)
        table = table.only(random.permutation(len(table)))
        return self._sampler.begin(table, widening=self._widening[slots], wait=wait)

    def _some_left(self, slots: Slots, wait: Wait) -> MemberSample:
        """Ask some of those that are left."""
        table = self._left[slots]
        some = np.random.default_rng(1).permutation(len(table))[: 4 * ASKED]
        return self._sampler.evaluate(table.only(some), 2 * ASKED, wait)

    def _ruled_out_by_least(self, slots: Slots, wait: Wait) -> MemberSample:
        """Ask some of those that were just ruled out."""
        return self._sampler.evaluate(self._nearest[slots], CHECKED, wait)

    def _margins_are_doubled(self) -> bool:
        """Whether one that was ruled out may meet the goal in some order; margins are doubled then."""
        found = self._add_to_samples(self._ruled_out_by_least, self._nearest)
        order = self._tree.spread.widening * sum(self._tree.spread.worst)
        doubled = [
            slots
            for slots, sample in found.items()
            if (self._sampler.missed_by(sample.logs, sample.error + order) < 0).any()
        ]
        for slots in doubled:
            self._widening[slots] *= 2
        return bool(doubled)

    def _go_through(self) -> bool:
        """Find what is left, of shapes without a model all; False where there is none at all."""
        models = {
            slots: model
            for slots, sample in self._samples.items()
            if (model := self._sampler.model(sample, widening=self._widening[slots])) is not None
        }
        if not models:
            return False
        parts = parts_of(self.families, AT_A_TIME)
        results = in_processes(
            lambda part, wait: self._left_of(*part, models, wait), parts, wait=self._wait, cores=self._cores
        )
        found: Mapping[Slots, list[LeftOfPart]] = defaultdict(list)
        for (number, _), one in zip(parts, results, strict=True):
            found[self._listing.slots[number]].append(one)
        for slots, some in found.items():
            self._left[slots] = self._joined([one.left for one in some])
            nearest, _ = nearest_of([one.nearest for one in some], MOST_NEAREST)
            self._nearest[slots] = self._joined([nearest])
        return True

    def _joined(self, tables: Sequence[MemberTable]) -> MemberTable:
        """Tables that were sent from other processes, with the shapes that they had there."""
        return replace(MemberTable.joined(tables), shapes=self.shapes)

    def _left_of(
        self, number: int, families: Sequence[Family], models: Mapping[Slots, AdditiveModel], wait: Wait
    ) -> LeftOfPart:
        """What is left of some members of one shape."""
        left, count = [MemberTable.none(self.shapes)], 0
        nearest = [(MemberTable.none(self.shapes), np.zeros(0))]
        for table, excess in self._not_far_off(number, families, models.get(self._listing.slots[number])):
            wait()
            just = np.flatnonzero(excess >= 0)
            nearest.append(nearest_of([(table.only(just), excess[just])], MOST_NEAREST))
            left.append(table.only(excess < 0))
            count += len(left[-1])
            if count > MOST_LEFT:  # what of the rest would be ruled out is of no use
                break
        return LeftOfPart(MemberTable.joined(left).bare, nearest_of(nearest, MOST_NEAREST))

    def _not_far_off(
        self, number: int, families: Sequence[Family], model: AdditiveModel | None
    ) -> Iterator[tuple[MemberTable, Floats]]:
        """Members that can be built and do not miss the goal by far, by how much at least, some at a time.

        Without a model all of them may meet it.
        """
        slots, figures = self._listing.slots[number], self._listing.figures[number]
        if model is None:
            for table in MemberTable.in_parts(families, number=number, shapes=self.shapes):
                built = table.only(figures.allowed(table))
                yield built, np.full(len(built), -1.0)
            return
        sums, near = ShapeSums(model, figures.table), self._samples[slots].near
        for outs, ins in MemberTable.ways(families, self.shapes[number]):
            for out, put_in, excess in sums.not_far_off(outs, ins, near=near):
                table = MemberTable.product(outs, ins, out, put_in, number=number, shapes=self.shapes)
                allowed = figures.allowed(table)
                yield table.only(allowed), excess[allowed]

    def _screen_the_rest(self) -> None:
        """Screen what is left, some at a time."""
        tables = [
            table.only(np.arange(first, min(first + SCREENED_AT_ONCE, len(table))))
            for table in self._left.values()
            for first in range(0, len(table), SCREENED_AT_ONCE)
        ]
        self.further = in_processes(self._screened, tables, wait=self._wait, cores=self._cores)

    def _screened(self, table: MemberTable, wait: Wait) -> Screened:
        inputs, crossovers = self._listing.described(table)
        return MemberScreen(
            table,
            inputs,
            crossovers,
            tree=self._tree,
            against=self._against,
            wait=wait,
            may_be_given_up=False,
        ).rule_out()
