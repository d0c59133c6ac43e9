"""Workers that search parts of a tree: in this process, or in a forked one.

A forked process begins with all that is known here, so only nodes, incumbents and reports are sent. An error
in it is raised here with the traceback that it had there.
"""

from __future__ import annotations

import gc
import sys
import traceback
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from multiprocessing import current_process, get_context, parent_process
from multiprocessing.connection import Connection
from multiprocessing.connection import wait as wait_for
from typing import Any, Final

from optimiser.errors import ShimwrightError
from optimiser.model.answer import Candidate
from optimiser.processes import leave_interrupts_to_parent, without_interrupts
from optimiser.search.objections import JudgedAt, Refused
from optimiser.search.objective import Objective
from optimiser.search.parallel.message import NodeMessage, decode, encode
from optimiser.search.space.shape import Shape
from optimiser.search.tree.best_first import BestFirstTree
from optimiser.search.tree.nodes import NodeCount

STEPS: Final = 8
"""Steps that a part takes in a round. [-]"""

POLL: Final = 0.05
"""Time between looks at whether it is time to stop. [s]"""


@dataclass(frozen=True, slots=True)
class PartReport:
    """What a part has done in a round.

    Parameters
    ----------
    found : stacks that the objective accepted as it was when the round began.
    count, evaluations : nodes looked at, and evaluations of the physics, since the tree was partitioned.
    open : nodes that are still to be looked at.
    nearest : the stack with the least misfit that was evaluated and not accepted.
    refused : stacks against which something spoke, since the tree was partitioned.
    """

    found: tuple[Candidate, ...]
    count: NodeCount
    evaluations: int
    open: int
    nearest: Candidate | None
    refused: tuple[tuple[JudgedAt, Refused], ...]


class _FrozenObjective:
    """An objective as it is when a round begins; what it is offered is only listed."""

    def __init__(self, objective: Objective) -> None:
        self.thresholds, self.prunes = objective.thresholds, objective.prunes
        self.accepts = objective.accepts
        self.found: list[Candidate] = []

    def record(self, one: Candidate) -> None:
        """List a stack that was accepted."""
        self.found.append(one)


def _one_round(part: BestFirstTree, objective: Objective) -> PartReport:
    """One part's share of a round."""
    frozen = _FrozenObjective(objective)
    for _ in range(STEPS):
        if part.open:
            part.step(frozen)
    return PartReport(
        tuple(frozen.found),
        replace(part.count),
        part.evaluator.evaluations,
        part.open,
        part.nearest,
        tuple(part.objections.refused.items()),
    )


class LocalWorker:
    """A worker in this process, which shares its objective.

    Parameters
    ----------
    parts : of a large tree.
    shapes : of all families that they have, and that other parts may share with them.
    objective : of the search.
    """

    def __init__(self, parts: Sequence[BestFirstTree], shapes: Sequence[Shape], objective: Objective) -> None:
        self._parts, self._shapes, self.objective = parts, shapes, objective

    def begin(self, news: Sequence[Candidate], objective: Objective | None) -> None:  # noqa: ARG002
        """Begin a round, after what all have found; with an objective, from all that another pruned."""
        if objective is not None:
            self.objective = objective
            for part in self._parts:
                part.reopen()

    def reports(self, wait: Callable[[], None]) -> list[PartReport]:
        """What each part has done; ``wait`` is called now and then until it is there."""
        done = []
        for part in self._parts:
            wait()
            done.append(_one_round(part, self.objective))
        return done

    def share(self, part: int, every: int) -> list[NodeMessage]:
        """One in so many of the nodes that a part has open."""
        return [encode(node, self._shapes) for node in self._parts[part].share(every=every)]

    def receive(self, part: int, messages: Sequence[NodeMessage]) -> None:
        """The nodes that another part shared."""
        self._parts[part].receive(decode(one, self._shapes) for one in messages)

    def close(self) -> None:
        """End it."""
        self._parts = ()


def can_fork() -> bool:
    """Whether parts can go on in processes of their own: forked ones, which no daemon may have."""
    return sys.platform == "linux" and not current_process().daemon


class Served:
    """A process of its own, begun with all that is known here, in which an object does as it is told.

    Parameters
    ----------
    local : the object.
    """

    def __init__(self, local: object) -> None:
        context = get_context("fork")
        self._pipe, theirs = context.Pipe()
        self._process = context.Process(target=_serve, args=(local, theirs), daemon=True)
        with without_interrupts():
            self._process.start()
        theirs.close()

    def send(self, *message: object) -> None:
        """Tell it what to do: the name of a method, and its arguments."""
        try:
            self._pipe.send(message)
        except OSError:
            raise _ended() from None

    @property
    def has_answered(self) -> bool:
        """Whether it has done so, looked at for a moment."""
        return self._pipe.poll(POLL)

    def answer(self, wait: Callable[[], None]) -> Any:
        """What came of it; ``wait`` is called now and then until it is there."""
        try:
            while not self.has_answered:
                wait()
            answer = self._pipe.recv()
        except (EOFError, OSError):
            raise _ended() from None
        if isinstance(answer, _Failure):
            raise answer.error from WorkerTraceback(answer.text)
        return answer

    def close(self) -> None:
        """End the process, whatever it is at."""
        self._process.kill()
        self._process.join()
        self._pipe.close()


def answered(working: Mapping[int, Served]) -> list[int]:
    """Which of them have done as they were told, looked at until one has, for a moment at most."""
    pipes = {one._pipe: number for number, one in working.items()}
    return [pipes[one] for one in wait_for(list(pipes), POLL) if isinstance(one, Connection)]


class ProcessWorker(Served):
    """A worker in a process of its own; else like :class:`LocalWorker`."""

    def __init__(self, local: LocalWorker) -> None:
        super().__init__(local)

    def begin(self, news: Sequence[Candidate], objective: Objective | None) -> None:
        """See :meth:`LocalWorker.begin`; it goes on meanwhile."""
        self.send("round", news, objective)

    def reports(self, wait: Callable[[], None]) -> list[PartReport]:
        """See :meth:`LocalWorker.reports`."""
        reports: list[PartReport] = self.answer(wait)
        return reports

    def share(self, part: int, every: int) -> list[NodeMessage]:
        """See :meth:`LocalWorker.share`."""
        self.send("share", part, every)
        messages: list[NodeMessage] = self.answer(lambda: None)
        return messages

    def receive(self, part: int, messages: Sequence[NodeMessage]) -> None:
        """See :meth:`LocalWorker.receive`."""
        self.send("receive", part, messages)
        self.answer(lambda: None)


class WorkerTraceback(Exception):  # noqa: N818
    """Where in a worker an error was raised, as text: a traceback itself cannot be sent."""


@dataclass(frozen=True, slots=True)
class _Failure:
    """An error in a worker, and its traceback as text."""

    error: Exception
    text: str


def _ended() -> ShimwrightError:
    return ShimwrightError(
        "a process that took part in the search has ended, expected it to live until the search is done. "
        "Most often memory has run out: free some, or allow fewer changes."
    )


def _serve(local: object, pipe: Connection) -> None:
    """In a process of its own: do as told until the process that began it ends, or ends this one."""
    leave_interrupts_to_parent()
    gc.disable()  # nodes are many, and nothing here is circular
    parent = parent_process()
    while parent is not None and parent.sentinel not in wait_for([pipe, parent.sentinel]):
        try:
            what, *arguments = pipe.recv()
            pipe.send(_done(local, what, arguments))
        except (EOFError, OSError):
            return


def _done(local: object, what: str, arguments: Sequence[Any]) -> object:
    """The answer to what was told, or what went wrong."""
    try:
        if what == "round" and isinstance(local, LocalWorker):
            return _round(local, *arguments)
        return getattr(local, what)(*arguments)
    except Exception as error:
        return _Failure(error, traceback.format_exc())


def _round(local: LocalWorker, news: Sequence[Candidate], objective: Objective | None) -> list[PartReport]:
    """A round by an objective of its own, which has to be told what others have found."""
    for one in news:
        local.objective.record(one)
    local.begin(news, objective)
    return local.reports(lambda: None)
