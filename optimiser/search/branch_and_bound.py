"""Every wanted stack with so many changes: one descent, and when it turns out long many side by side."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from optimiser.model.answer import Candidate
from optimiser.model.goal import Goal
from optimiser.model.stock import Stock
from optimiser.search.evaluator import Runs
from optimiser.search.objective import Objective
from optimiser.search.parallel.partition import Lanes
from optimiser.search.space.family import beginnings
from optimiser.search.space.problem_data import Workshop
from optimiser.search.space.shape import Shape
from optimiser.search.tree.best_first import Descent, Tally

LONG: Final = 300
"""Families after which a descent is dealt out into lanes. [-]"""


class BranchAndBound:
    """A search through stacks at one setting of the adjusters.

    Parameters
    ----------
    shop, runs, goal, stock : the job.
    setting : which setting of the adjusters.
    stop : raises :class:`optimiser.search.control.Stopped` when it is time; told how many families are open.
    cores : processes at most; what is found does not depend on it.
    again : whether it may be searched again for another objective.
    """

    def __init__(
        self,
        *,
        shop: Workshop,
        runs: Runs,
        goal: Goal,
        stock: Stock,
        setting: int,
        stop: Callable[[int], None],
        cores: int,
        again: bool,
    ) -> None:
        self.descent = Descent(shop=shop, runs=runs, goal=goal, stock=stock, setting=setting)
        self.setting, self.stop, self.cores, self.again = setting, stop, cores, again
        self.stacks = 0
        self._lanes: list[Lanes] = []

    def search(self, shapes: Sequence[Shape], changes: int, objective: Objective) -> None:
        """Offer every wanted stack with just so many changes to ``objective``; then none is left.

        The shape that the stack has now comes first, since most answers keep it.

        Raises
        ------
        Stopped
            From ``stop``; what was found until then has been taken.
        """
        for group in (shapes[:1], shapes[1:]):
            self.descent.add(family for shape in group for family in beginnings(shape, changes))
            self._finish(objective)
        self.stacks += sum(
            shape.ways(out, put_in)
            for shape in shapes
            for out in range(changes + 1)
            for put_in in range(changes + 1)
            if max(out, put_in) == changes
        )

    def search_again(self, objective: Objective) -> None:
        """Offer every wanted stack among all that have been searched, from the bounds that closed them."""
        known = list(self._lanes)
        self.descent.reopen()
        self._finish(objective)
        for lanes in known:
            lanes.finish(objective, self._wait(lanes), again=True)

    def _finish(self, objective: Objective) -> None:
        """Go on until nothing is open."""
        begun = self.descent.tally.families
        while self.descent.open:
            self.stop(self.descent.open)
            if self.descent.tally.families - begun <= LONG:
                self.descent.step(objective)
                continue
            lanes = Lanes(self.descent, objective, cores=self.cores)
            self._lanes.append(lanes)
            lanes.finish(objective, self._wait(lanes))
            if not self.again:
                lanes.close()

    def _wait(self, lanes: Lanes) -> Callable[[], None]:
        return lambda: self.stop(lanes.open)

    @property
    def tally(self) -> Tally:
        """What has been looked at."""
        return sum((lanes.tally for lanes in self._lanes), self.descent.tally)

    @property
    def runs_apart(self) -> int:
        """Questions to the physics that lanes have asked."""
        return sum(lanes.runs for lanes in self._lanes)

    @property
    def nearest(self) -> Candidate | None:
        """The stack with the least misfit of all that were judged and not wanted."""
        judged = [] if self.descent.nearest is None else [self.descent.nearest]
        judged += [one for lanes in self._lanes for one in lanes.nearest]
        return min(judged, key=lambda one: one.misfit, default=None)

    def close(self) -> None:
        """Let go of the processes."""
        for lanes in self._lanes:
            lanes.close()
