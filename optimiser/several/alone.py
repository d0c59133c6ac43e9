"""Each stack searched by itself, all others as they are; where enough is known already, only so far."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from optimiser.model.answer import Answer
from optimiser.model.open_stacks import DamperProblem
from optimiser.search import Control, Progress, solve
from optimiser.search.budget import RANKING
from optimiser.several.tally import Tally

BESIDE_OTHERS: Final = 20_000
"""Evaluations about a stack alone once several together are known to meet the goal. [-]"""


class Enough:
    """Ends a search of which no more than so much is wanted.

    Parameters
    ----------
    after : number of changes that is to be closed first.
    evaluations : of the physics, from then on.
    """

    def __init__(self, *, after: int, evaluations: int) -> None:
        self._after, self._evaluations = after, evaluations
        self._most: int | None = None
        self._is_enough = False

    @classmethod
    def beside_others(cls) -> Enough:
        """Several stacks meet the goal with as few changes: one alone would only open fewer assemblies."""
        return cls(after=0, evaluations=BESIDE_OTHERS)

    @classmethod
    def once_closed(cls, changes: int) -> Enough:
        """Several stacks meet the goal with one change more than is to be closed."""
        return cls(after=changes, evaluations=RANKING)

    def control(self, control: Control[Progress]) -> Control[Progress]:
        """A control that ends the search by itself besides."""

        def note(news: Progress) -> None:
            control.report(news)
            if self._most is None and news.proven_too_few >= self._after:
                self._most = news.evaluations + self._evaluations
            self._is_enough = self._most is not None and news.evaluations > self._most

        return replace(
            control, progress=note, should_stop=lambda: self._is_enough or control.stop_requested()
        )


class EachAlone:
    """What came of searches of single stacks.

    Parameters
    ----------
    problem : the damper.
    setting : of the adjusters.
    tally : counts what they cost, and takes what they found.

    Attributes
    ----------
    least : fewest changes with which one stack alone meets the goal; None where none was found to.
    too_few : no stack alone does with at most so many; None before any was searched.
    """

    def __init__(self, problem: DamperProblem, *, setting: int, tally: Tally) -> None:
        self._problem, self._setting, self._tally = problem, setting, tally
        self._answers: list[Answer] = []
        self.least: int | None = None
        self.too_few: int | None = None

    def begin(self, most_changes: int) -> None:
        """Search for at most so many from now on; without any stack to search, none of them does."""
        self.too_few = most_changes

    def search(
        self, place: int, most_changes: int, *, control: Control[Progress], enough: Enough | None
    ) -> None:
        """Search one stack for no more changes than another takes.

        Parameters
        ----------
        place : of the stack.
        most_changes : that it may take.
        control : time limit, interruption, progress and cores.
        enough : what ends it besides; None for nothing.
        """
        answer = solve(
            self._problem.alone(place),
            most_changes=self.least or most_changes,
            control=control if enough is None else enough.control(control),
            wanted=self._tally.wanted,
            settings=(self._setting,),
            find_nearest=False,
        )
        self._answers.append(answer)
        self._tally.count(answer)
        for candidate in (*answer.candidates, *([answer.nearest] if answer.nearest else [])):
            self._tally.take(place, candidate)
        if answer.candidates:
            self.least = len(answer.candidates[0].changes)
        known = most_changes if self.too_few is None else self.too_few
        self.too_few = min(known, answer.proven_too_few)

    def closest_with(self, changes: int) -> bool:
        """Whether no stack alone with so many changes, or fewer, comes closer than those found."""
        return all(one.closest_proven or one.proven_too_few >= changes for one in self._answers)
