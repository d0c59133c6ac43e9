"""The search of this house, watched from outside."""

from __future__ import annotations

from optimiser.model.answer import Answer, Status
from optimiser.search import Control, Progress, solve
from optimiser.search.warm_up import warm_up
from tests.benchmarks.rivals.question import Question
from tests.benchmarks.rivals.recorder import Budget, End, Found, Mark, Record, fresh

NAME = "ours"


def run(question: Question, budget: Budget, *, find_nearest: bool = False) -> tuple[Record, Answer]:
    """Ask for the best stack and the proof.

    Notes
    -----
    The moment of the first answer is when the search first reports that it has one, or when the forces of
    the best were first asked for if that came before; it reports now and then, so the true moment may be
    earlier. The proof covers what is listed first: no fewer changes will do, and as many come no closer;
    or that there is none, and where the nearest stack is asked for, that none comes nearer.
    """
    warm_up()
    physics = fresh(question, budget)
    reported: list[Mark] = []

    def watch(progress: Progress) -> None:
        if progress.found and not reported:
            reported.append(physics.now)

    answer = solve(
        question.problem(physics),
        most_changes=question.most_changes,
        control=Control(should_stop=lambda: physics.spent, progress=watch, cores=1),
        wanted=1,
        find_nearest=find_nearest,
    )
    end = physics.now
    proven = (
        answer.nearest_proven or not find_nearest
        if answer.status is Status.PROVEN_IMPOSSIBLE
        else answer.status is Status.PROVEN_LEAST and answer.closest_proven
    )
    ended: End = "proof" if proven else "budget" if physics.spent else "gave up"
    best = answer.candidates[0] if answer.candidates else None
    at = best and (physics.when(best.forces) or end)
    return Record(
        method=NAME if not find_nearest else f"{NAME}, with the nearest stack",
        first=min((mark for mark in (at, *reported) if mark), key=lambda mark: mark.runs, default=None),
        found=(Found(at, best),) if at and best else (),
        proof=end if proven else None,
        end=end,
        ended=ended,
        proves=True,
        calls=tuple(physics.times),
    ), answer
