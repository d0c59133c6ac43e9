"""The physics with a counter and a clock on it, and what a method got out of it."""

from __future__ import annotations

import gc
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.lift_table import lift_table
from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.model.answer import Candidate
from optimiser.model.objection import Objection
from optimiser.model.physics import BandPhysics
from tests.benchmarks.rivals.question import Key, Question, key_of

Answer = TypeVar("Answer")

End = Literal["proof", "target", "budget", "gave up"]


class Spent(Exception):  # noqa: N818
    """The budget is used up."""


class Reached(Exception):  # noqa: N818
    """What is known to be the best has been found; a method without a proof has nothing left to show."""


@dataclass(frozen=True, slots=True)
class Budget:
    """What a method may use on one question, whichever ends first.

    Parameters
    ----------
    runs : of the physics.
    seconds : of processor time, which other work on the machine does not stretch. [s]
    """

    runs: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Mark:
    """A moment: after so many runs of the physics and so many seconds of processor time. [s]"""

    runs: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Found:
    """A stack that meets the goal, better than all that the method had before."""

    at: Mark
    candidate: Candidate


@dataclass(frozen=True, slots=True)
class Record:
    """What one method did on one question.

    Parameters
    ----------
    method : its name.
    first : when it had an answer.
    found : answers that are known with their moment, each better than the one before.
    proof : when it had proven that nothing is better than the last of them, or that there is none.
    end : the last moment.
    ended : why then.
    proves : whether the method could prove anything at all.
    calls : time of each run of the physics. [s]
    """

    method: str
    first: Mark | None
    found: tuple[Found, ...]
    proof: Mark | None
    end: Mark
    ended: End
    proves: bool
    calls: tuple[float, ...]

    @property
    def best(self) -> Key | None:
        """How good its last answer is."""
        return key_of(self.found[-1].candidate) if self.found else None

    def reached(self, target: Key | None) -> Mark | None:
        """When it had an answer as good as ``target``."""
        if target is None:
            return None
        return next((one.at for one in self.found if key_of(one.candidate) <= target), None)


class CountedPhysics:
    """A physics that notes number, time and forces of each run, from its making on.

    Parameters
    ----------
    physics : what is asked.
    budget : what may be used.
    """

    def __init__(self, physics: BandPhysics, budget: Budget) -> None:
        self.settings: tuple[Mapping[str, int], ...] = physics.settings
        self.setting = physics.setting
        self.excess_tolerance, self.exact_tolerance = physics.excess_tolerance, physics.exact_tolerance
        self.times: list[float] = []
        self.answers: list[NDArray[np.float64]] = []
        self._physics = physics
        self._budget = budget
        self._start = time.process_time()

    @property
    def now(self) -> Mark:
        """Runs and time so far."""
        return Mark(len(self.times), time.process_time() - self._start)

    @property
    def seconds_left(self) -> float:
        """Time that is left. [s]"""
        return self._budget.seconds - (time.process_time() - self._start)

    @property
    def spent(self) -> bool:
        """Whether the budget is used up."""
        return len(self.times) >= self._budget.runs or self.seconds_left <= 0

    def packed(self, stack: Stack) -> PackedStack:
        """The plates that a stack amounts to; free of charge."""
        return self._physics.packed(stack)

    def forces(self, packed: PackedStack, setting: int) -> NDArray[np.float64]:
        """Damping forces, counted even where the physics finds none. [N]"""
        answer = np.full(0, np.nan)
        try:
            answer = self._physics.forces(packed, setting)
        finally:
            self.times.append(time.process_time() - self._start)
            self.answers.append(answer)
        return answer

    def coarse_forces(self, packed: PackedStack, setting: int) -> NDArray[np.float64]:
        """Damping forces, roughly: a run like any other, though it costs less. [N]"""
        return self._counted(lambda: self._physics.coarse_forces(packed, setting))

    def excesses(
        self,
        packed: PackedStack,
        setting: int,
        *,
        places: Sequence[int],
        forces: Sequence[float],
        exactly: bool,
    ) -> NDArray[np.float64]:
        """Excesses of some forces at once: a run like any other, though it costs least."""
        return self._counted(
            lambda: self._physics.excesses(packed, setting, places=places, forces=forces, exactly=exactly)
        )

    def objection(self, stack: Stack, setting: int) -> Objection | None:
        """What speaks against a stack: part of the run that gave its forces, whose lift it uses."""
        return self._physics.objection(stack, setting)

    def _counted(self, run: Callable[[], Answer]) -> Answer:
        try:
            return run()
        finally:
            self.times.append(time.process_time() - self._start)
            self.answers.append(np.empty(0))

    def when(self, forces: tuple[float, ...]) -> Mark | None:
        """The first run that gave these forces."""
        wanted = np.asarray(forces)
        for number, (moment, answer) in enumerate(zip(self.times, self.answers, strict=True), 1):
            if answer.shape == wanted.shape and np.allclose(answer, wanted, rtol=1e-10, atol=0):
                return Mark(number, moment)
        return None


def fresh(question: Question, budget: Budget) -> CountedPhysics:
    """A physics of its own for a method, without lifts that another method asked for; then the clock starts."""
    lift_table.cache_clear()
    gc.collect()
    physics = question.make_physics()
    physics.forces(physics.packed(question.stack), physics.setting)  # tables and compiled code, for everybody
    return CountedPhysics(physics, budget)
