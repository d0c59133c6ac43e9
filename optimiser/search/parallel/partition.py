"""One long descent dealt out into lanes that go on side by side, in rounds, in as many processes as help.

In a round every lane takes a few steps by what was known to all when it began; what the lanes have found is
then told to all, in their order. So what is found, and what it costs, does not depend on how many processes
there are.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from optimiser.model.answer import Candidate
from optimiser.search.objective import Objective
from optimiser.search.parallel.worker import Apart, Here, Report, may_fork
from optimiser.search.tree.best_first import Descent, Tally

LANES: Final = 8
"""Lanes of a long search. [-]"""

WORTH: Final = 16
"""Open families that are worth sharing. [-]"""


class Lanes:
    """Lanes of a descent that has turned out long.

    Parameters
    ----------
    descent : whose open families are dealt out.
    objective : what it is after.
    cores : processes at most.
    """

    def __init__(self, descent: Descent, objective: Objective, *, cores: int) -> None:
        shapes = descent.shapes
        lanes = descent.dealt(LANES)
        self._reports = [Report((), Tally(), 0, lane.open, None) for lane in lanes]
        many = min(cores, LANES) if may_fork() else 1
        crews = [Here(lanes[core::many], shapes, objective) for core in range(many)]
        if many > 1:
            descent.runs.rest()
        self._crews = crews if many == 1 else [Apart(crew) for crew in crews]

    @property
    def open(self) -> int:
        """Families and stacks that are still to be looked at."""
        return sum(report.open for report in self._reports)

    @property
    def tally(self) -> Tally:
        """What all lanes have looked at."""
        return sum((report.tally for report in self._reports), Tally())

    @property
    def runs(self) -> int:
        """Questions to the physics."""
        return sum(report.runs for report in self._reports)

    @property
    def nearest(self) -> list[Candidate]:
        """The stacks with the least misfit that were judged and not wanted, one a lane at most."""
        return [report.nearest for report in self._reports if report.nearest is not None]

    def finish(self, objective: Objective, wait: Callable[[], None], *, again: bool = False) -> None:
        """Go on until nothing is open; ``again`` begins anew for another objective.

        Parameters
        ----------
        objective : is offered what the lanes find.
        wait : called now and then; may raise to end it.
        """
        news: list[Candidate] = []
        other = objective if again else None
        while other is not None or self.open:
            wait()
            for crew in self._crews:
                crew.begin(news, other)
            told = [crew.reports(wait) for crew in self._crews]
            self._reports = [told[lane % len(told)][lane // len(told)] for lane in range(LANES)]
            self._balance()
            other, news = None, []
            for report in self._reports:
                for one in report.found:
                    if objective.wants(np.asarray(one.forces)):
                        objective.take(one)
                        news.append(one)

    def _balance(self) -> None:
        """Let lanes that have run dry share with those that have most."""
        left = [report.open for report in self._reports]
        many = len(self._crews)
        for dry in range(LANES):
            most = left.index(max(left))
            if left[dry] == 0 and left[most] >= WORTH:
                parcels = self._crews[most % many].give(most // many)
                self._crews[dry % many].receive(dry // many, parcels)
                left[dry] = len(parcels)
                left[most] -= len(parcels)

    def close(self) -> None:
        """Let go of the processes and of all that they know."""
        for crew in self._crews:
            crew.close()
