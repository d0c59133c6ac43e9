"""A large tree in parts, which several workers search side by side, in rounds.

In a round every part takes a few steps by the incumbents that were known when it began; what the parts have
found is then told to all, in their order. The number of parts is fixed, so what is found, and how many
evaluations it takes, does not depend on how many processes there are.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np

from optimiser.model.answer import Candidate
from optimiser.search.bounds.node import Node
from optimiser.search.objections import JudgedAt, Refused
from optimiser.search.objective import Objective
from optimiser.search.parallel.message import decode, encode
from optimiser.search.parallel.worker import LocalWorker, PartReport, ProcessWorker, can_fork
from optimiser.search.tree.best_first import BestFirstTree
from optimiser.search.tree.nodes import NodeCount

ScreenDue = Callable[[int, int], Callable[[list[Node]], list[Node]] | None]
"""The screen that is due after so many questions about so many shapes, if one is."""

PARTS: Final = 8
"""Parts of a large tree. [-]"""

WORTH_SHARING: Final = 16
"""Open nodes that a part has at least when it shares them. [-]"""


class Partition:
    """The parts of a tree that has grown large.

    Parameters
    ----------
    tree : whose open nodes are parted.
    objective : of the search.
    cores : processes at most.
    """

    def __init__(self, tree: BestFirstTree, objective: Objective, *, cores: int) -> None:
        self._shapes = shapes = tree.shapes
        parts = tree.partition(PARTS)
        self._reports = [PartReport((), NodeCount(), 0, part.open, None, ()) for part in parts]
        workers = min(cores, PARTS) if can_fork() else 1
        local = [LocalWorker(parts[number::workers], shapes, objective) for number in range(workers)]
        if workers > 1:
            tree.evaluator.release_threads()
        self._workers = local if workers == 1 else [ProcessWorker(worker) for worker in local]

    @property
    def open(self) -> int:
        """Nodes that are still to be looked at."""
        return sum(report.open for report in self._reports)

    @property
    def count(self) -> NodeCount:
        """Nodes that all parts have looked at."""
        return sum((report.count for report in self._reports), NodeCount())

    @property
    def evaluations(self) -> int:
        """Evaluations of the physics."""
        return sum(report.evaluations for report in self._reports)

    @property
    def nearest(self) -> list[Candidate]:
        """The stacks with the least misfit that were evaluated and not accepted, one a part at most."""
        return [report.nearest for report in self._reports if report.nearest is not None]

    @property
    def refused(self) -> dict[JudgedAt, Refused]:
        """Stacks against which something spoke."""
        return dict(one for report in self._reports for one in report.refused)

    def finish(
        self,
        objective: Objective,
        wait: Callable[[], None],
        *,
        again: bool = False,
        screened: ScreenDue | None = None,
    ) -> None:
        """Go on until no node is open; ``again`` begins anew for another objective.

        Parameters
        ----------
        objective : is offered what the parts find.
        wait : called now and then; may raise to end it.
        again : whether to search again, from the bounds that pruned them, nodes that another objective had.
        screened : told between rounds how often the parts have asked the physics and how many shapes they
            have; where it returns a screen, what that leaves of the open nodes takes their place.
        """
        news: list[Candidate] = []
        other = objective if again else None
        while other is not None or self.open:
            wait()
            for worker in self._workers:
                worker.begin(news, other)
            reports = [worker.reports(wait) for worker in self._workers]
            self._reports = [reports[part % len(reports)][part // len(reports)] for part in range(PARTS)]
            self._balance()
            other, news = None, []
            for report in self._reports:
                for one in report.found:
                    if objective.accepts(np.asarray(one.forces)):
                        objective.record(one)
                        news.append(one)
            screen = None if screened is None else screened(self.evaluations, len(self._shapes))
            if screen is not None and self.open:
                self._replace(screen)

    def _replace(self, screen: Callable[[list[Node]], list[Node]]) -> None:
        """Put what a screen leaves of all open nodes in their place, the same number in each part."""
        workers = len(self._workers)
        nodes = [
            decode(one, self._shapes)
            for part in range(PARTS)
            for one in self._workers[part % workers].share(part // workers, 1)
        ]
        left = [encode(node, self._shapes) for node in screen(nodes)]
        for part in range(PARTS):
            self._workers[part % workers].receive(part // workers, left[part::PARTS])
            self._reports[part] = replace(self._reports[part], open=len(left[part::PARTS]))

    def _balance(self) -> None:
        """Let parts that have run out of nodes share with those that have most."""
        left = [report.open for report in self._reports]
        workers = len(self._workers)
        for empty in range(PARTS):
            most = left.index(max(left))
            if left[empty] == 0 and left[most] >= WORTH_SHARING:
                messages = self._workers[most % workers].share(most // workers, 2)
                self._workers[empty % workers].receive(empty // workers, messages)
                left[empty] = len(messages)
                left[most] -= len(messages)

    def close(self) -> None:
        """End the workers and forget all that they know."""
        for worker in self._workers:
            worker.close()
