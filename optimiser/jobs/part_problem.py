"""A damper with a combination of other parts, and what a search of its shims is asked: one open stack."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Final, Protocol, Self

from optimiser.jobs.confidence import with_chances
from optimiser.jobs.part_ladder import Changes, work_time
from optimiser.jobs.setup import JobSetup, with_other_parts
from optimiser.model.answer import Answer, Candidate
from optimiser.model.certificate import candidate_faults, faults
from optimiser.model.objection import Objection
from optimiser.model.other_parts import opened_for
from optimiser.model.problem import Problem
from optimiser.model.stress import MORE_STRESS, StackStress
from optimiser.search import Control, Progress, climb, solve, survey

OVERSTRESSED: Final = "a shim of the stack as it is would be stressed beyond the limit"

BOILS: Final = "oil would boil inside a band of the goal"

TOO_HIGH: Final = "the stack's height would leave the range of the job"

NOT_DRAWN: Final = "how surely it does what is promised cannot be worked out"

SURVEY_SHARE: Final = 0.3
"""Of a search's time, for different ways to the goal, from which it begins. [-]"""


class PartProblem(Protocol):
    """A damper with a combination of parts, as a search of all combinations asks about it."""

    @property
    def setup(self) -> JobSetup:
        """The job with these parts, set up for the stack that its answers are about."""
        ...

    def with_parts(self, changes: Changes) -> Self:
        """The same goal asked of the damper with other parts than it has now.

        Raises
        ------
        InputError, ModelError
            When it cannot be built, or cannot be computed.
        """
        ...

    def against(self) -> str:
        """Why these parts are not looked into; empty for no reason."""
        ...

    def overstressed(self, setting: int) -> str:
        """That a stack as it is would bear more than a changed one may, since other oil presses harder."""
        ...

    def alone(self, *, control: Control[Progress]) -> Answer:
        """What these parts do with the stacks as they are, at every setting of the adjusters."""
        ...

    def with_shims(
        self, most_changes: int, *, under: float, control: Control[Progress]
    ) -> tuple[Answer, bool]:
        """What they do with so many shims at most.

        Returns
        -------
        answer : with the fewest changes.
        closed : whether nothing is left that takes less time than the least of them, and than ``under`` [s].
        """
        ...

    def time(self, one: Candidate) -> float:
        """What these parts and a candidate's shims cost. [s]"""
        ...

    def least_time(self, shims: int) -> float:
        """Least that these parts and so many shims cost. [s]"""
        ...

    def faults(self, answer: Answer) -> Sequence[str]:
        """What does not hold of an answer, as it is judged again."""
        ...


class OneStack:
    """A damper with one stack open.

    Parameters
    ----------
    setup : of the job.
    before : the damper with its own parts; None where this is it.
    """

    def __init__(self, setup: JobSetup, before: JobSetup | None = None) -> None:
        self.setup, self.before = setup, before
        self._work = setup.job.work

    @cached_property
    def _changes(self) -> Changes:
        return () if self.setup.job.parts is None else self.setup.job.parts.changes

    @cached_property
    def problem(self) -> Problem | None:
        """What a search is asked, with its chance where one is; None where that cannot be worked out."""
        level = self.setup.job.variant.confidence
        return (
            self.setup.problem if level is None else with_chances(self.setup, level=level, before=self.before)
        )

    def with_parts(self, changes: Changes) -> OneStack:
        """As of :class:`PartProblem`."""
        return OneStack(with_other_parts(self.setup, changes), self.setup)

    def against(self) -> str:
        """As of :class:`PartProblem`."""
        setup, before = self.setup, self.before or self.setup
        goal, physics = setup.asked.goal, setup.physics
        if setup.stack != before.stack and not goal.least_height <= setup.stack.height <= goal.most_height:
            return TOO_HIGH
        if physics.objection(setup.stack, physics.setting) is Objection.BOILS:
            return BOILS
        if stressed := self.overstressed(physics.setting):
            return stressed
        return NOT_DRAWN if self.problem is None else ""

    def overstressed(self, setting: int) -> str:
        """As of :class:`PartProblem`."""
        limit, setup, before = self._work.stress.kept, self.setup, self.before or self.setup
        new = setup.physics.worst_stress(setup.stack, setting)
        old = before.physics.worst_stress(before.stack, before.physics.setting)
        return OVERSTRESSED if limit is not None and beyond(limit, new, old) else ""

    def alone(self, *, control: Control[Progress]) -> Answer:
        """As of :class:`PartProblem`."""
        assert self.problem is not None  # noqa: S101 - else something speaks against it
        return solve(self.problem, most_changes=0, control=control)

    def with_shims(
        self, most_changes: int, *, under: float, control: Control[Progress]
    ) -> tuple[Answer, bool]:
        """As of :class:`PartProblem`; in one stack, fewer changes are less work."""
        problem, wanted = self.problem, self._work.candidates
        assert problem is not None  # noqa: S101 - else something speaks against it
        most = next((n for n in range(most_changes, 0, -1) if self.least_time(n) < under), 0)
        known = survey(problem, most_changes=most, control=control.share(SURVEY_SHARE))
        answer = solve(
            problem,
            most_changes=most,
            control=control.share(1 - SURVEY_SHARE),
            wanted=wanted,
            known=known,
            find_nearest=False,
        )
        answer, _ = climb(problem, answer, known=known, wanted=wanted)
        return answer, answer.proven_too_few >= most

    def time(self, one: Candidate) -> float:
        """As of :class:`PartProblem`."""
        return self.least_time(len(one.changes))

    def least_time(self, shims: int) -> float:
        """As of :class:`PartProblem`; a valve is opened once for all of it."""
        opened = shims > 0 or bool(opened_for(self._changes, self.setup.job.damper))
        return work_time(self._work, self._changes, shims=shims, opened=int(opened))

    def faults(self, answer: Answer) -> Sequence[str]:
        """As of :class:`PartProblem`."""
        problem = self.setup.problem_afresh
        wrong = list(faults(answer, problem))
        return [*wrong, *(words for one in answer.candidates for words in candidate_faults(one, problem))]


def beyond(limit: float, new: StackStress | None, old: StackStress | None) -> bool:
    """Whether a stack bears more than a limit [Pa], and more than it did."""
    if new is None or new.worst.von_mises <= limit:
        return False
    return old is None or new.worst.von_mises > old.worst.von_mises * (1 + MORE_STRESS)
