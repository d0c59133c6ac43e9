"""Crews of lanes: here, or in a process of their own that began with all that is known here."""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from multiprocessing import current_process, get_context, parent_process
from multiprocessing.connection import Connection
from multiprocessing.connection import wait as wait_for
from typing import Any, Final

from optimiser.errors import ShimwrightError
from optimiser.model.answer import Candidate
from optimiser.processes import leave_interrupts_to_parent, without_interrupts
from optimiser.search.objective import Objective
from optimiser.search.parallel.message import Parcel, unwrapped, wrapped
from optimiser.search.space.shape import Shape
from optimiser.search.tree.best_first import Descent, Tally

STEPS: Final = 4
"""Steps that a lane takes in a round. [-]"""

POLL: Final = 0.05
"""Time between looks at whether it is time to stop. [s]"""


@dataclass(frozen=True, slots=True)
class Report:
    """What a lane has done in a round.

    Parameters
    ----------
    found : stacks that were wanted when the round began.
    tally, runs : what was looked at, and questions to the physics, since the lanes were dealt.
    open : families and stacks that are still to be looked at.
    nearest : the stack with the least misfit that was judged and not wanted.
    """

    found: tuple[Candidate, ...]
    tally: Tally
    runs: int
    open: int
    nearest: Candidate | None


class _Noting:
    """An objective as it stands when a round begins; what it is offered is noted.

    Parameters
    ----------
    objective : that it stands for.
    """

    def __init__(self, objective: Objective) -> None:
        self.levels, self.hopeless, self.wants = objective.levels, objective.hopeless, objective.wants
        self.found: list[Candidate] = []

    def take(self, one: Candidate) -> None:
        """Note a stack that is wanted."""
        self.found.append(one)


def _turn(lane: Descent, objective: Objective) -> Report:
    """One lane's share of a round."""
    noting = _Noting(objective)
    for _ in range(STEPS):
        if lane.open:
            lane.step(noting)
    return Report(tuple(noting.found), replace(lane.tally), lane.runs.count, lane.open, lane.nearest)


class Here:
    """Lanes in this process, which share its objective.

    Parameters
    ----------
    lanes : a part of a long descent each.
    shapes : of all families that they have, and that others may give them.
    objective : what they are after.
    """

    def __init__(self, lanes: Sequence[Descent], shapes: Sequence[Shape], objective: Objective) -> None:
        self._lanes, self._shapes, self.objective = lanes, shapes, objective

    def begin(self, news: Sequence[Candidate], objective: Objective | None) -> None:  # noqa: ARG002
        """Begin a round, after what all have found; with an objective, from all that another closed."""
        if objective is not None:
            self.objective = objective
            for lane in self._lanes:
                lane.reopen()

    def reports(self, wait: Callable[[], None]) -> list[Report]:
        """What each lane has done; ``wait`` is called now and then until it is there."""
        done = []
        for lane in self._lanes:
            wait()
            done.append(_turn(lane, self.objective))
        return done

    def give(self, lane: int) -> list[Parcel]:
        """Half of what a lane has open."""
        return [wrapped(node, self._shapes) for node in self._lanes[lane].given(every=2)]

    def receive(self, lane: int, parcels: Sequence[Parcel]) -> None:
        """What another lane gave."""
        self._lanes[lane].receive(unwrapped(one, self._shapes) for one in parcels)

    def close(self) -> None:
        """End it."""
        self._lanes = ()


def may_fork() -> bool:
    """Whether lanes can go on in processes of their own: forked ones, which no daemon may have."""
    return sys.platform == "linux" and not current_process().daemon


class Apart:
    """Lanes in a process of their own, begun with all that is known here; otherwise like :class:`Here`."""

    def __init__(self, here: Here) -> None:
        context = get_context("fork")
        self._pipe, theirs = context.Pipe()
        self._process = context.Process(target=_work, args=(here, theirs), daemon=True)
        with without_interrupts():
            self._process.start()
        theirs.close()

    def begin(self, news: Sequence[Candidate], objective: Objective | None) -> None:
        """See :meth:`Here.begin`; it goes on meanwhile."""
        self._tell("round", news, objective)

    def reports(self, wait: Callable[[], None]) -> list[Report]:
        """See :meth:`Here.reports`."""
        reports: list[Report] = self._answer(wait)
        return reports

    def give(self, lane: int) -> list[Parcel]:
        """See :meth:`Here.give`."""
        self._tell("give", lane)
        parcels: list[Parcel] = self._answer(lambda: None)
        return parcels

    def receive(self, lane: int, parcels: Sequence[Parcel]) -> None:
        """See :meth:`Here.receive`."""
        self._tell("receive", lane, parcels)
        self._answer(lambda: None)

    def close(self) -> None:
        """End the process, whatever it is at."""
        self._process.kill()
        self._process.join()
        self._pipe.close()

    def _tell(self, *told: object) -> None:
        try:
            self._pipe.send(told)
        except OSError:
            raise _ended() from None

    def _answer(self, wait: Callable[[], None]) -> Any:
        try:
            while not self._pipe.poll(POLL):
                wait()
            answer = self._pipe.recv()
        except (EOFError, OSError):
            raise _ended() from None
        if isinstance(answer, Exception):
            raise answer
        return answer


def _ended() -> ShimwrightError:
    return ShimwrightError(
        "a process that took part in the search has ended, expected it to live until the search is done. "
        "Most often memory has run out: free some, or allow fewer changes."
    )


def _work(here: Here, pipe: Connection) -> None:
    """In a process apart: do as told until the process that began it ends, or ends this one."""
    leave_interrupts_to_parent()
    gc.disable()  # families are many, and nothing here is circular
    parent = parent_process()
    while parent is not None and parent.sentinel not in wait_for([pipe, parent.sentinel]):
        try:
            what, *told = pipe.recv()
            pipe.send(_done(here, what, told))
        except (EOFError, OSError):
            return


def _done(here: Here, what: str, told: Sequence[Any]) -> object:
    """The answer to what was told, or what went wrong."""
    try:
        return _round(here, *told) if what == "round" else getattr(here, what)(*told)
    except Exception as error:
        return error


def _round(here: Here, news: Sequence[Candidate], objective: Objective | None) -> list[Report]:
    """A round by an objective of its own, which has to be told what others have found."""
    for one in news:
        here.objective.take(one)
    here.begin(news, objective)
    return here.reports(lambda: None)
