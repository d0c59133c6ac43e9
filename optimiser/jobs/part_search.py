"""Other parts beside shims: oil, gas pressure, bleeds and rings, each combination a damper of its own.

Every combination of what the shop has is judged by itself, and then searched with shims as far as that
takes less time than the least that is known. So what is in range with the least work is found.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

from damping_model.errors import ModelError
from optimiser.errors import FaultError, InputError
from optimiser.jobs.confidence import with_chances
from optimiser.jobs.job import Job
from optimiser.jobs.ladder import judged
from optimiser.jobs.part_ladder import Changes, PartLadder, PartStep, work_time
from optimiser.jobs.setup import JobSetup, with_other_parts
from optimiser.model.answer import Answer, Candidate
from optimiser.model.certificate import candidate_faults, faults
from optimiser.model.objection import Objection
from optimiser.model.other_parts import part_changes
from optimiser.model.problem import Problem
from optimiser.model.stress import MORE_STRESS
from optimiser.search import Control, Progress, climb, solve, survey

MOST_COMBINATIONS: Final = 24
"""Of parts: each is searched like a damper of its own."""

OVERSTRESSED: Final = "a shim of the stack as it is would be stressed beyond the limit"

SURVEY_SHARE: Final = 0.3
"""Of a search's time, for different ways to the goal, from which it begins. [-]"""


@dataclass(frozen=True, slots=True)
class WithParts:
    """The answer for the combination that is in range with the least work, and all the others.

    Parameters
    ----------
    ladder : all of them.
    setups : the damper with each combination.
    setup, answer : the damper with the parts of the least work, and what was found for it; None where the
        damper's own parts do as well.
    """

    ladder: PartLadder
    setups: Mapping[Changes, JobSetup]
    setup: JobSetup | None = None
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
    return tuple(sorted(filter(None, every), key=lambda one: (work_time(job.work, one, 0), len(one))))


def with_parts_at_hand(
    setup: JobSetup,
    *,
    plain: Answer,
    chosen: Candidate | None,
    control: Control[Progress],
) -> WithParts:
    """Search the combinations of parts that a shop has.

    Parameters
    ----------
    setup : the job.
    plain : the answer with the damper's own parts.
    chosen : what is recommended of it; None where it has nothing in range or near enough.
    control : of the searches together.

    Raises
    ------
    InputError
        When the damper has no such part, or they are too many.
    FaultError
        When what was found does not hold as it is judged again.
    """
    search = _PartSearch(setup, plain, chosen, control)
    search.alone()
    search.with_shims()
    return search.found()


class _PartSearch:
    """First every combination by itself, then with shims those that may take less than the least known."""

    def __init__(
        self, setup: JobSetup, plain: Answer, chosen: Candidate | None, control: Control[Progress]
    ) -> None:
        self.setup, self.plain, self.control = setup, plain, control
        self.deadline = control.deadline()
        self.work, self.level = setup.job.work, setup.job.variant.confidence
        self.problems: dict[Changes, Problem] = {}
        self.every = combinations(setup.job)
        self.chosen = chosen
        self.own_time = float("inf") if chosen is None else work_time(self.work, (), len(chosen.changes))
        self.least = self.own_time
        self.dampers: dict[Changes, JobSetup] = {}
        self.answers: dict[Changes, Answer] = {}
        self.left_out: list[tuple[Changes, str]] = []
        self.stopped = False

    def alone(self) -> None:
        """Each combination with the stack as it is, at every setting of the adjusters."""
        for changes in self.every:
            if self._out_of_time():
                return
            try:
                damper = with_other_parts(self.setup, changes)
                against = self._against(damper) or self._posed(changes, damper)
                answer = (
                    None if against else solve(self.problems[changes], most_changes=0, control=self._left())
                )
            except (InputError, ModelError) as error:
                against, answer = str(error), None
            if answer is not None and answer.candidates:
                # Clicks press on a stack, too.
                stressed = self._overstressed(damper, answer.candidates[0].setting)
                against, answer = (OVERSTRESSED, None) if stressed else ("", answer)
            if answer is None:
                self.left_out.append((changes, against))
                continue
            self.dampers[changes], self.answers[changes] = damper, answer
            if answer.candidates:
                self.least = min(self.least, work_time(self.work, changes, 0))

    def with_shims(self) -> None:
        """Each with as many shims as take less time than the least known, the least work first."""
        waiting = [one for one in self.dampers if not self.answers[one].candidates]
        for place, changes in enumerate(waiting):
            most = self._most_worth_it(changes)
            if most == 0:
                continue
            if self._out_of_time():
                return
            problem = self.problems[changes]
            control = self._left(1 / (len(waiting) - place))
            known = survey(problem, most_changes=most, control=control.share(SURVEY_SHARE))
            answer = solve(
                problem,
                most_changes=most,
                control=control.share(1 - SURVEY_SHARE),
                wanted=self.work.candidates,
                known=known,
                find_nearest=False,
            )
            answer, _ = climb(problem, answer, known=known, wanted=self.work.candidates)
            self.answers[changes] = answer
            if answer.candidates:
                shims = len(answer.candidates[0].changes)
                self.least = min(self.least, work_time(self.work, changes, shims))

    def found(self) -> WithParts:
        """All of it, judged again."""
        self._refuse_faults()
        steps = [*self._own_step(), *(self._step(one) for one in self.dampers)]
        steps.sort(key=lambda one: (one.time, len(one.changes), len(one.best.changes)))
        reached = len(self.dampers) + len(self.left_out)
        ladder = PartLadder(
            tuple(steps), tuple(self.left_out), self._proven(), not_reached=len(self.every) - reached
        )
        least = ladder.least
        if least is None or not least.changes or least.time >= self.own_time:
            return WithParts(ladder, self.dampers)
        return WithParts(ladder, self.dampers, self.dampers[least.changes], self.answers[least.changes])

    def _posed(self, changes: Changes, damper: JobSetup) -> str:
        """Pose the problem of a combination, with its chance where one is asked; why that cannot be done."""
        posed = damper.problem
        if self.level is not None:
            drawn = with_chances(damper, level=self.level, before=self.setup)
            if drawn is None:
                return "how surely it does what is promised cannot be worked out"
            posed = drawn
        self.problems[changes] = posed
        return ""

    def _most_worth_it(self, changes: Changes) -> int:
        """Most shims that may change with these parts in less time than the least known."""
        every = range(self.work.most_changes, 0, -1)
        return next((n for n in every if work_time(self.work, changes, n) < self.least), 0)

    def _proven(self) -> bool:
        if self.stopped:
            return False
        answers = {(): self.plain, **self.answers}
        return all(
            answer.proven_too_few >= self._most_worth_it(changes)
            or (bool(answer.candidates) and not answer.candidates[0].changes)
            for changes, answer in answers.items()
        )

    def _own_step(self) -> Iterator[PartStep]:
        best = self.chosen or next(iter(self.plain.candidates), self.plain.nearest)
        if best is not None:
            yield self._judged(self.setup, (), best)

    def _step(self, changes: Changes) -> PartStep:
        answer = self.answers[changes]
        best = answer.candidates[0] if answer.candidates else answer.nearest
        assert best is not None  # noqa: S101 - an answer without candidates has a nearest
        return self._judged(self.dampers[changes], changes, best)

    def _judged(self, damper: JobSetup, changes: Changes, best: Candidate) -> PartStep:
        return PartStep(
            changes=changes,
            best=best,
            settings=damper.physics.settings,
            present=damper.physics.setting,
            bands=judged(damper.asked.goal, best),
            time=work_time(self.work, changes, len(best.changes)),
        )

    def _against(self, damper: JobSetup) -> str:
        """Why parts are not looked into with the stack as it is; empty for no reason."""
        goal, height = damper.asked.goal, damper.stack.height
        if damper.stack != self.setup.stack and not goal.least_height <= height <= goal.most_height:
            return "the stack's height would leave the range of the job"
        physics = damper.physics
        if physics.objection(damper.stack, physics.setting) is Objection.BOILS:
            return "oil would boil inside a band of the goal"
        return OVERSTRESSED if self._overstressed(damper, physics.setting) else ""

    def _overstressed(self, damper: JobSetup, setting: int) -> bool:
        """Whether the stack as it is bears more than a changed one may, since other oil presses harder."""
        limit, old = self.work.stress.kept, self.setup.physics.setting
        new = None if limit is None else damper.physics.worst_stress(damper.stack, setting)
        if limit is None or new is None or new.worst.von_mises <= limit:
            return False
        before = self.setup.physics.worst_stress(self.setup.stack, old)
        return before is None or new.worst.von_mises > before.worst.von_mises * (1 + MORE_STRESS)

    def _refuse_faults(self) -> None:
        wrong: list[str] = []
        for changes, answer in self.answers.items():
            problem = self.dampers[changes].problem_afresh
            wrong += faults(answer, problem)
            wrong += [words for one in answer.candidates for words in candidate_faults(one, problem)]
        if wrong:
            raise FaultError(f"{self.setup.job.path}", wrong)

    def _out_of_time(self) -> bool:
        late = self.deadline is not None and time.monotonic() >= self.deadline
        self.stopped = self.stopped or late or self.control.stop_requested()
        return self.stopped

    def _left(self, share: float = 1.0) -> Control[Progress]:
        if self.deadline is None:
            return self.control
        return replace(self.control, time_limit=share * max(self.deadline - time.monotonic(), 0.0))
