"""Members that miss a goal by far, ruled out by adding up what each shim does, before any is screened.

Shapes with the same slots share an additive model, made from members that were drawn and from those among
them that should come nearest. Then all members are gone through, each way to take shims out with each way to
put others in. Of those that were ruled out by least some are asked; should one of them not miss the goal after
all, margins are doubled. While many are left some of these are asked, and all are gone through anew.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from damping_model.stack.stack import Stack
from optimiser.search.evaluator import Evaluator
from optimiser.search.forecast import AgainstLimits, Forecast
from optimiser.search.parallel.tasks import in_processes
from optimiser.search.screen.additive_model import AdditiveModel
from optimiser.search.screen.constraints import Constraints
from optimiser.search.screen.evaluated_members import EvaluatedMembers
from optimiser.search.screen.listing import Listing, Slots, Wait, nearest_of, parts_of, size_of
from optimiser.search.screen.member_screen import CHECKED, MemberScreen, Screened
from optimiser.search.screen.member_table import MemberTable
from optimiser.search.screen.shape_sums import ShapeSums
from optimiser.search.space.family import Family
from optimiser.search.tree.best_first import BestFirstTree

Floats = NDArray[np.float64]

DRAWN: Final = 100_000
"""Members of shapes with the same slots that are drawn, those that cannot be built included. [-]"""

ASKED: Final = 300
"""Of these so many are asked, and as many again that should come nearest. [-]"""

LEAST_KNOWN: Final = 30
"""With fewer that have an answer nothing is ruled out. [-]"""

AT_A_TIME: Final = 20_000_000
"""Members that one process goes through before it takes others. [-]"""

FEW: Final = 100_000
"""With no more left it is not done again. [-]"""

MOST_LEFT: Final = 400_000
"""Members that may be left, since all of them are in memory; with more it is given up. [-]"""

MOST_NEAREST: Final = 10 * CHECKED
"""Members ruled out by least that are remembered. [-]"""

SCREENED_AT_ONCE: Final = 25_000
"""Members that one process screens further. [-]"""

ROUNDS: Final = 5
"""How often all are gone through at most. [-]"""


@dataclass(frozen=True, slots=True)
class Sample:
    """Members of shapes with the same slots that were asked.

    Parameters
    ----------
    inputs : bending stiffness and height of each slot (asked, inputs).
    logs : logarithms of their forces (asked, velocities). [-]
    error : how far these may be wrong (velocities,). [-]
    near : misses no smaller than this are not remembered, as a share of the force. [-]
    evaluations : how often the physics was asked.
    """

    inputs: Floats
    logs: Floats
    error: Floats
    near: float
    evaluations: int

    def with_more(self, other: Sample) -> Sample:
        """Both together; what is known already is left out, for it would be predicted from itself."""
        if not len(other.logs):
            return self
        inputs = np.concatenate([self.inputs, other.inputs])
        scale = np.maximum(np.abs(inputs).max(axis=0, initial=0.0), 1e-300)
        _, first = np.unique(np.round(inputs / scale, 9), axis=0, return_index=True)
        first.sort()
        return Sample(
            inputs[first],
            np.concatenate([self.logs, other.logs])[first],
            np.maximum(self.error, other.error),
            min(self.near, other.near),
            self.evaluations + other.evaluations,
        )


class Part(NamedTuple):
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
    left : members that may meet the goal, by their slots.
    further : what came of a screen of these.
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
        self._listing = Listing(tree, self.shapes, against)
        self._constraints = Constraints.of(against)
        self._numbers: dict[Slots, list[int]] = defaultdict(list)
        for number, slots in enumerate(self._listing.slots):
            self._numbers[slots].append(number)
        self._widening = dict.fromkeys(self._numbers, tree.spread.widening)
        self._samples: dict[Slots, Sample] = {}
        self._nearest: dict[Slots, tuple[MemberTable, Floats]] = {}
        self.left: dict[Slots, MemberTable] = {}
        self.further: list[Screened] = []

    def rule_out(self) -> bool:
        """Go through all members; False when too many are left to go on."""
        self._tree.evaluator.release_threads()
        self._samples = self._for_each(self._draw, self._numbers)
        before = np.inf
        for _ in range(ROUNDS):
            if not self._is_worth_while() or not self._go_through():
                return False
            if self._has_doubled_margins():
                continue
            count = sum(map(len, self.left.values()))
            if not FEW < count < before / 2:
                self._screen_the_rest()
                return True
            before = count
            random = np.random.default_rng(1)
            more = {slots: table.only(random.permutation(len(table))) for slots, table in self.left.items() if len(table) > 2 * ASKED}
            found = self._for_each(lambda slots, wait: self._ask_some(more[slots], 2 * ASKED, wait), more)
            self._samples |= {slots: self._samples[slots].with_more(one) for slots, one in found.items()}
        return False

    @property
    def ruled_out(self) -> int:
        """Sets of shims that were ruled out, those that cannot be built included."""
        return sum(map(size_of, self.families)) - sum(map(len, self.left.values()))

    @property
    def evaluations(self) -> int:
        """How often the physics was asked."""
        return sum(one.evaluations for one in (*self._samples.values(), *self.further))

    def nearest(self, count: int) -> Iterator[Stack]:
        """Stacks that were ruled out by least, so many at most."""
        for table, _ in self._nearest.values():
            for place in range(min(-(-count // len(self._nearest)), len(table))):
                stack = table.shape(place).stack(*table.sites(place))
                if stack is not None and self._tree.members.buildable(stack):
                    yield stack

    def _for_each(
        self, task: Callable[[Slots, Wait], Sample], slots: Mapping[Slots, object]
    ) -> dict[Slots, Sample]:
        every = list(slots)
        return dict(
            zip(every, in_processes(task, every, wait=self._wait, cores=self._cores), strict=True)
        )

    def _model(self, slots: Slots, sample: Sample) -> AdditiveModel:
        return AdditiveModel(
            sample.inputs, sample.logs, sample.error, self._constraints, widening=self._widening[slots]
        )

    def _inputs(self, table: MemberTable) -> Floats:
        """Bending stiffness and height of each slot (members, inputs)."""
        if not len(table):
            return np.zeros((0, 0))
        return self._listing.inputs(table)[:, : 2 * len(self.shapes[int(table.shape_of[0])].slots)]

    def _draw(self, slots: Slots, wait: Wait) -> Sample:
        """Ask members that are drawn, then those of them that should come nearest."""
        random, numbers = np.random.default_rng(0), self._numbers[slots]
        share = min(DRAWN / max(sum(size_of(self.families[number]) for number in numbers), 1), 1.0)
        drawn = (
            MemberTable.drawn(self.families[number], share, random, number=number, shapes=self.shapes)
            for number in numbers
        )
        table = MemberTable.joined(
            [self._listing.allowed(number, one)[0] for number, one in zip(numbers, drawn, strict=True)]
        )
        table = table.only(random.permutation(len(table)))
        first = self._ask_some(table, ASKED, wait)
        if len(first.logs) < LEAST_KNOWN:
            return first
        inputs = self._inputs(table)
        nearest = np.argsort(self._model(slots, first).predicted(inputs), kind="stable")
        sample = first.with_more(self._ask_some(table.only(nearest[: 2 * ASKED]), ASKED, wait))
        excess = self._model(slots, sample).excess(inputs)
        just = np.sort(excess[excess >= 0])[:CHECKED]
        return replace(sample, near=float(just.max(initial=0.0)))

    def _ask_some(self, table: MemberTable, wanted: int, wait: Wait) -> Sample:
        """Ask the first members of a table that can be built, so many at most."""
        evaluator = Evaluator(self._tree.evaluator.physics, cores=1)
        with threadpool_limits(limits=1):  # matrices are small, and other members are asked on other cores
            asked = EvaluatedMembers(table, self._tree, evaluator, wait)
            asked.evaluate(range(len(table)), wanted=wanted)
            missed_by = self._against.beyond(Forecast(asked.logs, np.zeros_like(asked.logs)))
            error = asked.error(np.abs(missed_by))
            inputs = self._inputs(table)[asked.places]
        return Sample(inputs, asked.logs, self._tree.spread.widening * error, np.inf, evaluator.evaluations)

    def _is_worth_while(self) -> bool:
        """Whether each model rules anything out."""
        return all(
            len(sample.logs) >= LEAST_KNOWN and self._model(slots, sample).margins.errors.size
            for slots, sample in self._samples.items()
        )

    def _go_through(self) -> bool:
        """Find what is left; False where that is too much."""
        models = {slots: self._model(slots, sample) for slots, sample in self._samples.items()}
        parts = parts_of(self.families, AT_A_TIME)

        def left_of(part: tuple[int, Sequence[Family]], wait: Wait) -> Part:
            slots = self._listing.slots[part[0]]
            return self._left(*part, models[slots], self._samples[slots].near, wait)

        found: dict[Slots, list[Part]] = {slots: [] for slots in self._numbers}
        results = in_processes(left_of, parts, wait=self._wait, cores=self._cores)
        for (number, _), one in zip(parts, results, strict=True):
            found[self._listing.slots[number]].append(one)
        for slots, some in found.items():
            self.left[slots] = self._with_shapes(MemberTable.joined([one.left for one in some]))
            table, beyond = nearest_of([one.nearest for one in some], MOST_NEAREST)
            self._nearest[slots] = self._with_shapes(table), beyond
        return sum(map(len, self.left.values())) <= MOST_LEFT

    def _with_shapes(self, table: MemberTable) -> MemberTable:
        """As it was before it was sent from one process to another."""
        return replace(table, shapes=self.shapes)

    def _left(
        self, number: int, families: Sequence[Family], model: AdditiveModel, near: float, wait: Wait
    ) -> Part:
        """What is left of some members of one shape."""
        figures = self._listing.figures[number]
        sums = ShapeSums(model, figures.table)
        tables = [MemberTable.none(self.shapes)]
        excesses = [np.zeros(0)]
        for outs, ins in MemberTable.ways(families, self.shapes[number]):
            for out, put_in, excess in sums.not_far_off(outs, ins, near=near):
                wait()
                table = MemberTable.product(outs, ins, out, put_in, number=number, shapes=self.shapes)
                allowed = figures.allowed(table)
                tables.append(table.only(allowed))
                excesses.append(excess[allowed])
            if sum(map(len, tables)) > 2 * MOST_LEFT:
                break
        table, excess = MemberTable.joined(tables), np.concatenate(excesses)
        just = np.flatnonzero(excess >= 0)
        nearest = nearest_of([(table.only(just), excess[just])], MOST_NEAREST)
        return Part(table.only(excess < 0).bare, nearest)

    def _has_doubled_margins(self) -> bool:
        """Ask those that were ruled out by least; double margins where one does not miss the goal after all."""
        found = self._for_each(self._ask_nearest, self._nearest)
        doubled = False
        for slots, sample in found.items():
            known = Forecast(sample.logs, np.tile(sample.error, (len(sample.logs), 1)))
            if (self._against.beyond(known) < 0).any():
                self._widening[slots] *= 2
                doubled = True
            self._samples[slots] = self._samples[slots].with_more(sample)
        return doubled

    def _ask_nearest(self, slots: Slots, wait: Wait) -> Sample:
        return self._ask_some(self._nearest[slots][0], CHECKED, wait)

    def _screen_the_rest(self) -> None:
        """Screen what is left, some at a time."""
        tables = [
            table.only(np.arange(first, min(first + SCREENED_AT_ONCE, len(table))))
            for table in self.left.values()
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
