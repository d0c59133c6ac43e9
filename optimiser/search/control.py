"""How a search is watched and ended: its time limit, an interruption, progress, and the cores it may use."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import Enum
from typing import Generic, NamedTuple, Self, TypeVar

from optimiser.model.answer import Status
from optimiser.processes import cores_here

News = TypeVar("News")
OtherNews = TypeVar("OtherNews")


class Stopped(Exception):  # noqa: N818
    """The search was asked to end; the status says why."""

    def __init__(self, status: Status) -> None:
        super().__init__(status.value)
        self.status = status


@dataclass(frozen=True, kw_only=True)
class Control(Generic[News]):
    """When a search ends early, what it tells meanwhile, and how many processes it may use.

    Parameters
    ----------
    time_limit : stop after this long and give what stands; None for never. What a first run in a fresh
        installation compiles does not count. [s]
    should_stop : asked often; True ends the search as an interruption.
    progress : told now and then how far it has come.
    cores : processes at most, as many as there are cores when left out; the answer does not depend on it.
    """

    time_limit: float | None = None
    should_stop: Callable[[], bool] | None = None
    progress: Callable[[News], None] | None = None
    cores: int | None = None

    @property
    def most_processes(self) -> int:
        """Processes at most."""
        return cores_here() if self.cores is None else self.cores

    def deadline(self) -> float | None:
        """When the time limit ends for what begins now, on the monotonic clock; None for never. [s]"""
        return None if self.time_limit is None else time.monotonic() + self.time_limit

    def left(self, deadline: float | None) -> Self:
        """The same control for what is left of the time."""
        left = None if deadline is None else max(deadline - time.monotonic(), 0.0)
        return replace(self, time_limit=left)

    def share(self, share: float) -> Self:
        """The same control for a share of the time. [-]"""
        return self if self.time_limit is None else replace(self, time_limit=share * self.time_limit)

    def stop_requested(self) -> bool:
        """Whether the user asks for an end."""
        return self.should_stop is not None and self.should_stop()

    def stop_if_asked(self, deadline: float | None) -> None:
        """End the search when the user asks for it or the clock has come to the deadline.

        Raises
        ------
        Stopped
            With the reason.
        """
        if self.stop_requested():
            raise Stopped(Status.INTERRUPTED)
        if deadline is not None and time.monotonic() >= deadline:
            raise Stopped(Status.BEST_SO_FAR)

    def reporting(self, progress: Callable[[OtherNews], None]) -> Control[OtherNews]:
        """The same control for a part of the work, which tells its progress in its own way."""
        return Control(
            time_limit=self.time_limit, should_stop=self.should_stop, progress=progress, cores=self.cores
        )

    def report(self, news: News) -> None:
        """Tell how far the search has come."""
        if self.progress is not None:
            self.progress(news)


class Phase(Enum):
    """What a search is after at the moment, in words that go on from 'looking for'."""

    FEWEST = "the fewest changes"
    CLOSEST = "the stack that comes closest"
    WAY_OUT = "a way out"


class Missed(NamedTuple):
    """A window that is missed.

    Parameters
    ----------
    band : its name.
    by : how far, as a share of the force before. [-]
    """

    band: str
    by: float


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search for the fewest changes has come.

    Parameters
    ----------
    changes : number of changes that is being searched.
    families_open, families_closed : families still to be looked at, and done with.
    evaluations : how often the damping model was asked.
    found : stacks that meet the goal.
    proven_too_few : no stack with at most this many changes meets the goal; -1 when nothing is proven yet.
    ruled_out : stacks that cannot meet the goal, counted once for each way to come to them.
    missed : the window that the nearest stack misses most, and by how much; None when it is not known.
    phase : of the whole work.
    """

    changes: int
    families_open: int
    families_closed: int
    evaluations: int
    found: int
    proven_too_few: int
    ruled_out: int = 0
    missed: Missed | None = None
    phase: Phase = Phase.FEWEST

    @property
    def settled(self) -> bool:
        """Whether it is known by now what the fewest changes are, or that there are none."""
        return self.phase is not Phase.FEWEST


@dataclass(frozen=True, slots=True)
class TreeProgress:
    """How far the search of a tree has come, whatever its objective.

    Parameters
    ----------
    families_open, families_closed : families still to be looked at, and done with.
    evaluations : how often the damping model was asked.
    """

    families_open: int
    families_closed: int
    evaluations: int
