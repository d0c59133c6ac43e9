"""Members that an additive model is made from: some that are drawn, and those that should come nearest."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from optimiser.search.evaluator import Evaluator
from optimiser.search.forecast import AgainstLimits, Forecast
from optimiser.search.screen.additive_model import AdditiveModel
from optimiser.search.screen.constraints import Constraints
from optimiser.search.screen.evaluated_members import EvaluatedMembers
from optimiser.search.screen.listing import Listing, Wait
from optimiser.search.screen.member_screen import CHECKED
from optimiser.search.screen.member_table import MemberTable
from optimiser.search.tree.best_first import BestFirstTree

Floats = NDArray[np.float64]

ASKED: Final = 300
"""Members that are asked of those drawn, and as many again that should come nearest. [-]"""

LEAST_KNOWN: Final = 30
"""With fewer that have an answer no model is made. [-]"""


@dataclass(frozen=True, slots=True)
class MemberSample:
    """Members of shapes with the same slots that were asked.

    Parameters
    ----------
    inputs : bending stiffness and height of each slot (asked, inputs).
    logs : logarithms of their forces (asked, velocities). [-]
    error : how far these may be wrong (velocities,). [-]
    near : of those ruled out that are to be remembered, how far they miss the goal at most. [-]
    unanswered : members that the model has no coarse forces of, as a bare table.
    evaluations : how often the physics was asked.
    """

    inputs: Floats
    logs: Floats
    error: Floats
    near: float
    unanswered: MemberTable
    evaluations: int

    def with_more(self, other: MemberSample) -> MemberSample:
        """Both together; what is known already is left out, for it would be predicted from itself."""
        evaluations = self.evaluations + other.evaluations
        unanswered = MemberTable.joined([self.unanswered, other.unanswered])
        if not len(other.logs):
            return replace(self, unanswered=unanswered, evaluations=evaluations)
        inputs = np.concatenate([self.inputs, other.inputs])
        scale = np.maximum(np.abs(inputs).max(axis=0, initial=0.0), 1e-300)
        _, first = np.unique(np.round(inputs / scale, 9), axis=0, return_index=True)
        first.sort()
        return MemberSample(
            inputs[first],
            np.concatenate([self.logs, other.logs])[first],
            np.maximum(self.error, other.error),
            min(self.near, other.near),
            unanswered,
            evaluations,
        )


class MemberSampler:
    """Asks members, and makes additive models from what they tell.

    Parameters
    ----------
    tree : of which they are.
    against : what their forces are held against.
    listing : of their shapes.
    """

    def __init__(self, tree: BestFirstTree, against: AgainstLimits, listing: Listing) -> None:
        self._tree, self._against, self._listing = tree, against, listing
        self._constraints = Constraints.of(against)

    def model(self, sample: MemberSample, *, widening: float) -> AdditiveModel | None:
        """The model of a sample; None where it rules nothing out."""
        if len(sample.logs) < LEAST_KNOWN:
            return None
        one = AdditiveModel(sample.inputs, sample.logs, sample.error, self._constraints, widening=widening)
        return one if one.margins.errors.size else None

    def begin(self, table: MemberTable, *, widening: float, wait: Wait) -> MemberSample:
        """Ask the first members of a table, then those of it that should come nearest."""
        first = self.evaluate(table, ASKED, wait)
        if len(first.logs) < LEAST_KNOWN:
            return first
        inputs = self._inputs(table)
        by_drawn = AdditiveModel(first.inputs, first.logs, first.error, self._constraints, widening=widening)
        nearest = np.argsort(by_drawn.predicted(inputs), kind="stable")
        sample = first.with_more(self.evaluate(table.only(nearest[: 2 * ASKED]), ASKED, wait))
        model = self.model(sample, widening=widening)
        if model is None:
            return sample
        excess = model.excess(inputs)
        just = np.sort(excess[excess >= 0])[:CHECKED]
        return replace(sample, near=float(just[-1]) if len(just) else np.inf)

    def evaluate(self, table: MemberTable, wanted: int, wait: Wait) -> MemberSample:
        """Ask the first members of a table that can be built, so many at most."""
        evaluator = Evaluator(self._tree.evaluator.physics, cores=1)
        with threadpool_limits(limits=1):  # matrices are small, and other members are asked on other cores
            asked = EvaluatedMembers(table, self._tree, evaluator, wait)
            asked.evaluate(range(len(table)), wanted=wanted)
            error = self._tree.spread.widening * asked.error(np.abs(self.missed_by(asked.logs)))
            inputs = self._inputs(table)[asked.places]
        unanswered = table.only(np.array(asked.unanswered, dtype=np.intp)).bare
        return MemberSample(inputs, asked.logs, error, np.inf, unanswered, evaluator.evaluations)

    def missed_by(self, logs: Floats, error: Floats | float = 0.0) -> Floats:
        """By what share of the force known ones surely miss the goal, below 0 where they may not (known,)."""
        return self._against.beyond(Forecast(logs, np.zeros_like(logs) + error))

    def _inputs(self, table: MemberTable) -> Floats:
        """Bending stiffness and height of each slot (members, inputs)."""
        if not len(table):
            return np.zeros((0, 0))
        return self._listing.inputs(table)[:, : 2 * len(table.shape(0).slots)]
