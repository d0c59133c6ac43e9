"""When nothing meets a goal: for each number of changes, the smallest loosening of one window that does."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from optimiser.model.answer import NO_EFFORT, Candidate, Effort, Status
from optimiser.model.problem import Problem
from optimiser.search import Control, Explored, TreeProgress, explore
from optimiser.search.evaluator import Evaluator
from optimiser.search.objections import Objections
from optimiser.search.unchanged import at_every_setting
from optimiser.search.warm_up import warm_up
from optimiser.studies.loosenable import Kind, Loosenable
from optimiser.studies.loosening_heuristic import promising
from optimiser.studies.loosening_objective import TIES, SmallestLoosenings

HEURISTIC_SHARE: Final = 0.5
"""Share of a time limit that the heuristic may take before the search, which proves. [-]"""


@dataclass(frozen=True, slots=True)
class Loosening:
    """One window to be loosened, and the stack that this lets through.

    Parameters
    ----------
    name : of the window.
    kind : what of it is loosened.
    changes : most changes of shims; 0 is clicks alone.
    present, value : as it is, and as it would have to be, as shares of the force before. [-]
    figure : ``value`` in percent as it is typed, rounded so that the stack is let through.
    candidate : the stack, judged by the goal as it is.
    proven : whether no smaller loosening of this window lets anything through with as few changes.
    """

    name: str
    kind: Kind
    changes: int
    present: float
    value: float
    figure: str
    candidate: Candidate
    proven: bool

    @classmethod
    def known(
        cls, one: Loosenable, objective: SmallestLoosenings, *, changes: int, proven: bool
    ) -> Loosening:
        """The smallest loosening of a window that an objective has come to.

        Parameters
        ----------
        one, objective : the window, of which some loosening is known, and what was searched with.
        changes, proven : of shims at most, and whether no smaller one does with as many.
        """
        best = objective.best[one.place]
        forces = np.array(best.candidate.forces)[objective.part(one.place)]
        return cls(
            name=one.name,
            kind=one.kind,
            changes=changes,
            present=one.present,
            value=best.value,
            figure=one.figure(best.value, forces),
            candidate=best.candidate,
            proven=proven,
        )


@dataclass(frozen=True, slots=True)
class Loosenings:
    """All that would do, one at a time.

    Parameters
    ----------
    found : fewest changes first, then in the order of the goal; of each window those for which more changes
        need less.
    met : a stack that meets the goal as it is, should one turn up.
    stopped : why it ended early; None when every number of changes was closed.
    effort : what it cost.
    """

    found: tuple[Loosening, ...]
    met: Candidate | None
    stopped: Status | None
    effort: Effort


def loosenings(
    problem: Problem,
    loosenable: Sequence[Loosenable],
    *,
    most_changes: int,
    settings: tuple[int, ...] | None = None,
    known: Sequence[Candidate] = (),
    control: Control[TreeProgress] | None = None,
) -> Loosenings:
    """The smallest loosening of each window, every other window as it is, for each number of changes.

    One search for all windows: a family is of use while it may miss one window alone, and that by less than
    what was found before. Without a change every setting of the adjusters is tried.

    Parameters
    ----------
    problem : whose goal nothing meets.
    loosenable : windows of the goal, see :func:`optimiser.studies.loosenable.loosenable_windows`.
    most_changes : most shims out, in or swapped.
    settings : adjuster settings at which changed stacks are tried; the present one when left out.
    known : stacks within the number of changes that were evaluated already: the search begins from them.
    control : time limit, interruption, progress and cores. Ended early, what was found by then would do, and
        is not proven the least.

    Raises
    ------
    InputError
        When the stack in the damper breaks a rule itself.
    """
    control, begun = control or Control(), time.monotonic()
    objective = SmallestLoosenings(problem.goal, loosenable)
    objections = Objections(problem.physics)
    as_it_is = at_every_setting(Evaluator(problem.physics, cores=1), problem)
    clicks = [one for one in as_it_is.candidates if objections.none_to(one)]
    limit, explored = control.time_limit, Explored(None, True, NO_EFFORT)
    changed = most_changes > 0 and bool(loosenable)
    if changed:
        warm_up()
        known = (
            *known,
            *promising(
                problem,
                loosenable,
                most_changes=most_changes,
                known=(*clicks, *known),
                settings=(problem.physics.setting,) if settings is None else settings,
                control=replace(control, time_limit=None if limit is None else HEURISTIC_SHARE * limit),
            ),
        )
    collected = _Collected(objective, loosenable, (*clicks, *known))
    collected.close(0, not as_it_is.unanswered)
    if changed:
        left = None if limit is None else max(begun + limit - time.monotonic(), 0.0)
        explored = explore(
            problem,
            objective,
            most_changes=most_changes,
            control=replace(control, time_limit=left),
            settings=settings,
            closed=lambda changes, sure: collected.close(changes, sure and not as_it_is.unanswered),
        )
    collected.finish(most_changes)
    return Loosenings(tuple(collected.found), objective.met, explored.stopped, explored.effort)


class _Collected:
    """What was found, one number of changes after another."""

    def __init__(
        self, objective: SmallestLoosenings, loosenable: Sequence[Loosenable], known: Sequence[Candidate]
    ) -> None:
        self.objective, self.loosenable, self.known = objective, loosenable, known
        self.found: list[Loosening] = []
        self._listed: dict[int, float] = {}
        self._closed = -1
        self._offer(0)

    def close(self, changes: int, proven: bool) -> None:
        """List what so many changes improve; then go on from what is known of one more."""
        for one in self.loosenable:
            best = self.objective.best.get(one.place)
            if best is None:
                continue
            distance = abs(best.value - one.present)
            if distance >= self._listed.get(one.place, np.inf) - TIES:
                continue
            self._listed[one.place] = distance
            self.found.append(Loosening.known(one, self.objective, changes=changes, proven=proven))
        self._closed = changes
        self._offer(changes + 1)

    def finish(self, most_changes: int) -> None:
        """List what was found for numbers of changes that were not closed."""
        for changes in range(self._closed + 1, most_changes + 1):
            self.close(changes, False)

    def _offer(self, changes: int) -> None:
        for one in self.known:
            if len(one.changes) == changes and self.objective.accepts(np.asarray(one.forces)):
                self.objective.record(one)
