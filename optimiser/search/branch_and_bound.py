"""Branch and bound over all stacks with so many changes: one tree, partitioned when it grows large.

One call closes one number of changes at one setting of the adjusters: on return no stack is left that the
objective would accept. How many processes search the parts changes nothing in what is found.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

from optimiser.model.answer import Candidate
from optimiser.model.goal import Goal
from optimiser.model.stock import Stock
from optimiser.search.bounds.node import Node
from optimiser.search.bounds.order_spread import order_spread
from optimiser.search.evaluator import Evaluator
from optimiser.search.objections import JudgedAt, Refused
from optimiser.search.objective import LeastMisfit, Objective
from optimiser.search.parallel.partition import Partition
from optimiser.search.screen.screen import Predicted, Screen, Screenable
from optimiser.search.space.family import root_families
from optimiser.search.space.problem_data import ProblemData
from optimiser.search.space.shape import Shape
from optimiser.search.tree.best_first import BestFirstTree
from optimiser.search.tree.nodes import NodeCount
from optimiser.search.tree.singles import Margins

PARTITION_AFTER: Final = 150
"""Families bounded before a tree is partitioned. [-]"""


class BranchAndBound:
    """A search through stacks at one setting of the adjusters.

    Parameters
    ----------
    data, evaluator, goal, stock : the problem.
    setting : which setting of the adjusters.
    stop : raises :class:`optimiser.search.control.Stopped` when it is time; told how many nodes are open.
    cores : processes at most; what is found does not depend on it.
    again : whether it may be searched again for another objective.
    missed_by : by what share of the force the nearest stack that is known misses the goal, none once one
        meets it. Until then members may be ruled out by the screen, whose margins are measured and not
        proven. Left out where no proof is checked by stacks drawn from what was ruled out: then nothing is
        screened.
    widening : how many times as wide as usual all margins are.
    margins : of coarse forces: see :class:`BestFirstTree`.
    """

    def __init__(
        self,
        *,
        data: ProblemData,
        evaluator: Evaluator,
        goal: Goal,
        stock: Stock,
        setting: int,
        stop: Callable[[int], None],
        cores: int,
        again: bool,
        missed_by: Callable[[], float | None] | None = None,
        widening: float = 1.0,
        margins: Margins | None = None,
    ) -> None:
        self.tree = BestFirstTree(
            data=data,
            evaluator=evaluator,
            goal=goal,
            stock=stock,
            setting=setting,
            spread=replace(order_spread(data, evaluator, setting), widening=widening),
            margins=margins,
        )
        self.setting, self.stop, self.cores, self.again = setting, stop, cores, again
        self.stacks = 0
        self._screen = None if missed_by is None else Screen(self.tree, cores=cores)
        self._missed_by = missed_by
        self._partitions: list[Partition] = []

    def search(self, shapes: Sequence[Shape], changes: int, objective: Objective) -> None:
        """Record every stack with just so many changes that the objective accepts; then none is left.

        The shape that the stack has now comes first, since most answers keep it.

        Raises
        ------
        Stopped
            From ``stop``; what was found until then has been recorded.
        """
        for group in (shapes[:1], shapes[1:]):
            self.tree.add(family for shape in group for family in root_families(shape, changes))
            self._finish(objective)
        self.stacks += sum(
            shape.ways(out, put_in)
            for shape in shapes
            for out in range(changes + 1)
            for put_in in range(changes + 1)
            if max(out, put_in) == changes
        )

    def search_again(self, objective: LeastMisfit) -> None:
        """Search all that has been searched for another objective, from the bounds that pruned it."""
        known = list(self._partitions)
        self.tree.reopen()
        if self._screen is not None:
            self.tree.receive(self._screen.reopened(objective, lambda: self.stop(0)))
        self._finish(objective)
        for partition in known:
            partition.finish(objective, self._wait(partition), again=True)

    def _finish(self, objective: Objective) -> None:
        """Go on until no node is open."""
        begun = self.tree.count.families
        while self.tree.open:
            self.stop(self.tree.open)
            if self.tree.count.families - begun <= PARTITION_AFTER:
                self.tree.step(objective)
                continue
            partition = Partition(self.tree, objective, cores=self.cores)
            self._partitions.append(partition)
            self._finish_partition(partition, objective)
            if not self.again:
                partition.close()

    def _finish_partition(self, partition: Partition, objective: Objective) -> None:
        """Go on until no node of a partition is open; what is hard to close is screened once that is due."""
        screen, wait = self._screen, self._wait(partition)
        if screen is None or not isinstance(objective, Screenable):
            partition.finish(objective, wait)
            return
        held = objective
        screen.restart(partition.evaluations)

        def due(questions: int, shapes: int) -> Callable[[list[Node]], list[Node]] | None:
            is_hard = self._is_hard_to_close
            if is_hard is None or not screen.is_due(questions, shapes, is_hard=is_hard):
                return None
            screen.begin(questions)
            return lambda nodes: screen.rule_out(nodes, held.against, wait, is_hard=is_hard)

        partition.finish(objective, wait, screened=due)

    @property
    def _is_hard_to_close(self) -> bool | None:
        """Whether a stack comes so near to the goal that many should lie as near; none once one meets it.

        Families then close only when they are down to a few members.
        """
        missed_by = None if self._missed_by is None else self._missed_by()
        return None if missed_by is None else missed_by <= max(self.tree.widest_slack)

    def _wait(self, partition: Partition) -> Callable[[], None]:
        return lambda: self.stop(partition.open)

    @property
    def predicted(self) -> Predicted:
        """What the screen has ruled out by forces predicted from those of others."""
        return Predicted(0, []) if self._screen is None else self._screen.predicted

    @property
    def count(self) -> NodeCount:
        """Nodes that have been looked at."""
        return sum((partition.count for partition in self._partitions), self.tree.count)

    @property
    def worker_evaluations(self) -> int:
        """Evaluations of the physics by workers."""
        return sum(partition.evaluations for partition in self._partitions)

    @property
    def nearest(self) -> Candidate | None:
        """The stack with the least misfit of all leaves that were evaluated and not accepted."""
        evaluated = [] if self.tree.nearest is None else [self.tree.nearest]
        evaluated += [one for partition in self._partitions for one in partition.nearest]
        return min(evaluated, key=lambda one: one.misfit, default=None)

    @property
    def refused(self) -> dict[JudgedAt, Refused]:
        """Stacks against which something spoke, although they would have been accepted or nearest."""
        found = dict(self.tree.objections.refused)
        for partition in self._partitions:
            found |= partition.refused
        return found

    def close(self) -> None:
        """End the workers."""
        for partition in self._partitions:
            partition.close()
