"""The screen of some members: a few are asked, the surrogate rules out others, what is left is asked.

Members come in rounds. Each round's are drawn from those that are still open, so that the surrogate is best
where the goal is near; some of those that it has just ruled out are asked too, and should one of them not
miss the goal after all, its margins are doubled and all are judged anew.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from optimiser.search.evaluator import Evaluator
from optimiser.search.forecast import Against, Forecast
from optimiser.search.screen.evaluated_members import EvaluatedMembers
from optimiser.search.screen.figures import Crossovers
from optimiser.search.screen.member_table import MemberTable
from optimiser.search.screen.surrogate_force import SurrogateForce
from optimiser.search.tree.best_first import BestFirstTree

Floats = NDArray[np.float64]
Places = NDArray[np.intp]

ROUND: Final = 250
"""Members that are asked in the first round. [-]"""

LARGEST_ROUND: Final = 500
"""The same in later ones, each as many as are known by then, at most. [-]"""

CHECKED: Final = 20
"""Members just ruled out that are asked in a round besides. [-]"""

WORTH_A_ROUND: Final = 600
"""Members that a round has to rule out for another to be worth its arithmetic. [-]"""

MOST_KNOWN: Final = 3000
"""Members that the surrogate is made from at most. [-]"""

MOST_LEFT: Final = 0.6
"""Share of the members that may be left after two rounds; with more the screen is given up. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Screened:
    """What came of a screen.

    Parameters
    ----------
    worth : whether it was worth while; where it was not, nothing else counts.
    shape_of, outs, ins : of all members: see :class:`MemberTable`.
    evaluated : members whose forces were asked (asked,).
    logs : logarithms of those (asked, velocities). [-]
    margins : of those forces, any order of packs included (velocities,). [-]
    unanswered : members that the model has no forces of.
    least_misfit : of the others, by what was predicted of them, in half-widths of a window (members,). [-]
    evaluations : how often the physics was asked.
    """

    worth: bool
    shape_of: NDArray[np.int16]
    outs: NDArray[np.int16]
    ins: NDArray[np.int16]
    evaluated: Places
    logs: Floats
    margins: Floats
    unanswered: tuple[int, ...]
    least_misfit: Floats
    evaluations: int

    @property
    def predicted(self) -> Places:
        """Members that were ruled out by what was predicted of them, the nearest first."""
        order = np.argsort(self.least_misfit, kind="stable")
        return order[: int(np.isfinite(self.least_misfit).sum())]

    def left(self, against: Against) -> Places:
        """Which of those that were asked do not surely miss a limit, by their place among these."""
        known = Forecast(self.logs, np.tile(self.margins, (len(self.logs), 1)))
        return np.flatnonzero(against.beyond(known) < 0)


class MemberScreen:
    """Members of one shape, or of several with the same slots, and what is known of them.

    Parameters
    ----------
    table : members that shelf, height and shape allow.
    inputs : what their forces depend on: see :meth:`ShapeFigures.inputs`.
    crossovers : theirs.
    tree : of which they are.
    against : what their forces are held against.
    wait : called now and then; may raise to end it.
    may_be_given_up : whether to, where too many are left.
    """

    def __init__(
        self,
        table: MemberTable,
        inputs: Floats,
        crossovers: Crossovers,
        *,
        tree: BestFirstTree,
        against: Against,
        wait: Callable[[], None],
        may_be_given_up: bool = True,
    ) -> None:
        self._table, self._tree, self._against = table, tree, against
        self._inputs, self._may_be_given_up = inputs, may_be_given_up
        self._kinds, self._alike = crossovers
        self._evaluator = Evaluator(tree.evaluator.physics, cores=1)
        self._sample = EvaluatedMembers(table, tree, self._evaluator, wait)
        self._widening = tree.spread.widening
        self._least_misfit = np.full(len(table), -np.inf)
        self._error = np.zeros(tree.goal.velocities.size)
        self._surrogate = self._new_surrogate(self._widening)
        self._random = np.random.default_rng(1)

    def _new_surrogate(self, widening: float) -> SurrogateForce:
        return SurrogateForce(self._alike, widening)

    def _fit(self) -> None:
        places = np.array(self._sample.places, dtype=np.intp)
        self._surrogate.fit(self._inputs[places], self._kinds[places], self._sample.logs, self._beyond())

    def rule_out(self) -> Screened:
        """Ask members and rule others out until none is left open."""
        with threadpool_limits(limits=1):  # matrices are small, and other shapes are at work on other cores
            worth = self._in_rounds()
        if worth:
            self._measure_error()
        order = self._widening * sum(self._tree.spread.worst)
        return Screened(
            worth=worth,
            shape_of=self._table.shape_of,
            outs=self._table.outs,
            ins=self._table.ins,
            evaluated=np.array(self._sample.places, dtype=np.intp),
            logs=self._sample.logs,
            margins=self._error + order,
            unanswered=tuple(self._sample.unanswered),
            least_misfit=np.where(self._sample.looked_at, np.inf, self._least_misfit),
            evaluations=self._evaluator.evaluations,
        )

    def _in_rounds(self) -> bool:
        """Rule out until the rest has been asked; False when it is given up."""
        everyone, rounds = np.arange(len(self._table)), 0
        self._draw(everyone)
        self._measure_error()
        left = everyone[~self._sample.looked_at]
        while len(left) > ROUND and ROUND <= len(self._sample.places) <= MOST_KNOWN:
            self._fit()
            inputs = self._inputs[left]
            known = self._surrogate.predict(inputs, self._kinds[left])
            known = Forecast(known.logs, known.margins + self._error)
            beyond = self._against.beyond(known)
            beyond[~self._surrogate.covers(inputs)] = -1.0
            self._least_misfit[left] = self._against.least_misfit(known, beyond)
            out, rounds = left[beyond >= 0], rounds + 1
            exceeded = rounds == 2 and len(left) - len(out) > MOST_LEFT * len(everyone)
            if exceeded and self._may_be_given_up:
                return False
            just = np.argsort(beyond[beyond >= 0], kind="stable")[:CHECKED]
            if self._broken(out[just]):
                self._surrogate = self._new_surrogate(2 * self._surrogate.widening)
                left = everyone[~self._sample.looked_at]
                continue
            left = left[beyond < 0]
            if len(out) < WORTH_A_ROUND:
                break
            self._draw(left)
            left = left[~self._sample.looked_at[left]]
        self._sample.evaluate(left.tolist())
        return True

    def _draw(self, places: Places) -> None:
        """Ask a round's members, drawn from these."""
        known = len(self._sample.places)
        wanted = min(max(ROUND, known), LARGEST_ROUND)
        self._sample.evaluate(self._random.permutation(places).tolist(), wanted=wanted)

    def _beyond(self) -> Floats:
        """By how much those that were asked surely miss a limit, in the order that they were asked in."""
        known = Forecast(self._sample.logs, np.tile(self._error, (len(self._sample.logs), 1)))
        return self._against.beyond(known)

    def _measure_error(self) -> None:
        """Hold coarse forces against exact ones where they are nearest to a limit."""
        measured = self._sample.error(np.abs(self._beyond()))
        self._error = np.maximum(self._error, self._widening * measured)

    def _broken(self, places: Places) -> bool:
        """Whether one of some members that were ruled out may not miss the limits after all."""
        before = len(self._sample.places)
        self._sample.evaluate(places.tolist())
        return bool((self._beyond()[before:] < 0).any())
