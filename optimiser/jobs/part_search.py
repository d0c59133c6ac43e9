"""Other parts beside shims: oil, gas pressure, bleeds and rings, each combination a damper of its own.

Every combination of what the shop has is judged by itself, and then searched with shims as far as that
takes less time than the least that is known. So what is in range with the least work is found.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import product
from typing import Final, Generic, TypeVar

from damping_model.errors import ModelError
from optimiser.errors import FaultError, InputError
from optimiser.jobs.job import Job
from optimiser.jobs.ladder import judged
from optimiser.jobs.part_ladder import Changes, PartLadder, PartStep, work_time
from optimiser.jobs.part_problem import PartProblem
from optimiser.model.answer import Answer, Candidate
from optimiser.model.other_parts import opened_for, part_changes
from optimiser.search import Control, Progress

MOST_COMBINATIONS: Final = 24
"""Of parts: each is searched like a damper of its own."""

Posed = TypeVar("Posed", bound=PartProblem)


@dataclass(frozen=True, slots=True)
class WithParts(Generic[Posed]):
    """The answer for the combination that is in range with the least work, and all the others.

    Parameters
    ----------
    ladder : all of them.
    dampers : the damper with each combination.
    damper, answer : that with the parts of the least work, and what was found for it; None where the damper's
        own parts do as well.
    """

    ladder: PartLadder
    dampers: Mapping[Changes, Posed]
    damper: Posed | None = None
    answer: Answer | None = None


def combinations(job: Job) -> tuple[Changes, ...]:
    """Every combination of the parts at hand but the present one, the least work first.

    Raises
    ------
    InputError
        When the damper has no such part, or they are too many.
    """
    own = [(None, *part_changes(part, job.damper, where=str(job.path))) for part in job.at_hand]
    number = 1
    for choices in own:
        number *= len(choices)
    if number - 1 > MOST_COMBINATIONS:
        raise InputError(
            f"{job.path}: at_hand: got {number - 1} combinations of parts, expected at most "
            f"{MOST_COMBINATIONS}: each is searched like a damper of its own. Leave out what is unlikely."
        )
    every = [tuple(filter(None, one)) for one in product(*own)]

    def takes(changes: Changes) -> tuple[float, int]:
        opened = len(opened_for(changes, job.damper))
        return work_time(job.work, changes, shims=0, opened=opened), len(changes)

    return tuple(sorted(filter(None, every), key=takes))


def with_parts_at_hand(
    own: Posed,
    *,
    plain: Answer,
    chosen: Candidate | None,
    control: Control[Progress],
    closed: bool = False,
) -> WithParts[Posed]:
    """Search the combinations of parts that a shop has.

    Parameters
    ----------
    own : the job with the damper's own parts.
    plain : the answer with those.
    chosen : what is recommended of it; None where it has nothing in range or near enough.
    control : of the searches together.
    closed : whether it is known that nothing with those takes less time than ``chosen``.

    Raises
    ------
    InputError
        When the damper has no such part, or they are too many.
    FaultError
        When what was found does not hold as it is judged again.
    """
    search = _PartSearch(own, plain, chosen, control, closed=closed)
    search.alone()
    search.with_shims()
    return search.found()


class _PartSearch(Generic[Posed]):
    """First every combination by itself, then with shims those that may take less than the least known."""

    def __init__(
        self, own: Posed, plain: Answer, chosen: Candidate | None, control: Control[Progress], *, closed: bool
    ) -> None:
        self.own, self.plain, self.control, self.chosen = own, plain, control, chosen
        self.deadline = control.deadline()
        self.most_changes = own.setup.job.work.most_changes
        self.every = combinations(own.setup.job)
        self.own_time = float("inf") if chosen is None else own.time(chosen)
        self.least = self.own_time
        self.dampers: dict[Changes, Posed] = {}
        self.answers: dict[Changes, Answer] = {}
        self.closed: set[Changes] = {()} if closed else set()
        self.left_out: list[tuple[Changes, str]] = []
        self.stopped = False

    def alone(self) -> None:
        """Each combination with the stacks as they are, at every setting of the adjusters."""
        for changes in self.every:
            if self._out_of_time():
                return
            try:
                damper = self.own.with_parts(changes)
                against = damper.against()
                answer = None if against else damper.alone(control=self._left())
            except (InputError, ModelError) as error:
                against, answer = str(error), None
            if answer is not None and answer.candidates:
                # Clicks press on a stack, too.
                against = damper.overstressed(answer.candidates[0].setting)
                answer = None if against else answer
            if answer is None:
                self.left_out.append((changes, against))
                continue
            self._note(changes, damper, answer)

    def with_shims(self) -> None:
        """Each with as many shims as take less time than the least known, the least work first."""
        waiting = [one for one in self.dampers if not self.answers[one].candidates]
        for place, changes in enumerate(waiting):
            damper = self.dampers[changes]
            most = self._most_worth_it(damper)
            if most == 0:
                continue
            if self._out_of_time():
                return
            control = self._left(1 / (len(waiting) - place))
            answer, closed = damper.with_shims(most, under=self.least, control=control)
            if closed:
                self.closed.add(changes)
            self._note(changes, damper, answer)

    def found(self) -> WithParts[Posed]:
        """All of it, judged again."""
        self._refuse_faults()
        steps = [*self._own_step(), *(self._step(one) for one in self.dampers)]
        steps.sort(key=lambda one: (one.time, len(one.changes), one.best.number_of_changes))
        reached = len(self.dampers) + len(self.left_out)
        ladder = PartLadder(
            tuple(steps), tuple(self.left_out), self._proven(), not_reached=len(self.every) - reached
        )
        least = ladder.least
        if least is None or not least.changes or least.time >= self.own_time:
            return WithParts(ladder, self.dampers)
        return WithParts(ladder, self.dampers, self.dampers[least.changes], self.answers[least.changes])

    def _note(self, changes: Changes, damper: Posed, answer: Answer) -> None:
        self.dampers[changes], self.answers[changes] = damper, answer
        self.least = min([self.least, *map(damper.time, answer.candidates)])

    def _most_worth_it(self, damper: Posed) -> int:
        """Most shims that may change with these parts in less time than the least known."""
        every = range(self.most_changes, 0, -1)
        return next((n for n in every if damper.least_time(n) < self.least), 0)

    def _proven(self) -> bool:
        if self.stopped:
            return False
        answers = {(): self.plain, **self.answers}
        return all(
            changes in self.closed
            or answer.proven_too_few >= self._most_worth_it(self.dampers.get(changes, self.own))
            or (bool(answer.candidates) and not answer.candidates[0].number_of_changes)
            for changes, answer in answers.items()
        )

    def _own_step(self) -> Iterator[PartStep]:
        best = self.chosen or next(iter(self.plain.candidates), self.plain.nearest)
        if best is not None:
            yield self._judged(self.own, (), best)

    def _step(self, changes: Changes) -> PartStep:
        answer, damper = self.answers[changes], self.dampers[changes]
        best = min(answer.candidates, key=damper.time, default=answer.nearest)
        assert best is not None  # noqa: S101 - an answer without candidates has a nearest
        return self._judged(damper, changes, best)

    def _judged(self, damper: Posed, changes: Changes, best: Candidate) -> PartStep:
        return PartStep(
            changes=changes,
            best=best,
            settings=damper.setup.physics.settings,
            present=damper.setup.physics.setting,
            bands=judged(damper.setup.asked.goal, best),
            time=damper.time(best),
        )

    def _refuse_faults(self) -> None:
        every = self.answers.items()
        wrong = [words for changes, answer in every for words in self.dampers[changes].faults(answer)]
        if wrong:
            raise FaultError(f"{self.own.setup.job.path}", wrong)

    def _out_of_time(self) -> bool:
        late = self.deadline is not None and time.monotonic() >= self.deadline
        self.stopped = self.stopped or late or self.control.stop_requested()
        return self.stopped

    def _left(self, share: float = 1.0) -> Control[Progress]:
        if self.deadline is None:
            return self.control
        return replace(self.control, time_limit=share * max(self.deadline - time.monotonic(), 0.0))
