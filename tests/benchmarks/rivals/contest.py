"""All methods on one question: ours first, so that methods without a proof may end at what is known to be best."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from tests.benchmarks.rivals import evolution, exhaustive, linear, ours
from tests.benchmarks.rivals.question import Key, Question
from tests.benchmarks.rivals.recorder import Budget, Record

SEEDS: Final = (1, 2, 3)


@dataclass(frozen=True)
class Contest:
    """What all methods did on one question.

    Parameters
    ----------
    question : the job.
    entries : for each method its records, one for each seed.
    best : the best answer of all; None when no method has any.
    impossible : whether it is proven that there is none.
    faults : what does not hold in what they say; must be empty.
    """

    question: Question
    entries: tuple[tuple[Record, ...], ...]
    best: Key | None
    impossible: bool
    faults: tuple[str, ...]


def contest(question: Question, budget: Budget, *, seeds: tuple[int, ...] = SEEDS) -> Contest:
    """Let every method work on a question, and hold every answer against rules, shelf and fresh forces."""
    faults: list[str] = []
    record, answer = ours.run(question, budget)
    faults += _prefixed(record, question.faults(answer))
    entries: list[tuple[Record, ...]] = [(record,)]
    if record.proof is not None and not answer.candidates:
        entries.append((_nearest(question, budget, faults),))
    entries.append((exhaustive.run(question, budget),))
    proven = [one for entry in entries for one in entry if one.proof is not None]
    target = min((one.best for one in proven if one.best is not None), default=None)
    entries.append((linear.run(question, budget, target=target),))
    stochastic: tuple[Callable[..., Record], ...] = (evolution.run_differential, evolution.run_genetic)
    entries += [
        tuple(method(question, budget, seed=seed, target=target) for seed in seeds) for method in stochastic
    ]
    records = [one for entry in entries for one in entry]
    for one in records:
        faults += [f for found in one.found for f in _prefixed(one, question.faults_of(found.candidate))]
    best = min((one.best for one in records if one.best is not None), default=None)
    faults += broken_proofs(records, best)
    impossible = any(one.proof is not None and one.best is None for one in records)
    return Contest(question, tuple(entries), best, impossible, tuple(faults))


def _nearest(question: Question, budget: Budget, faults: list[str]) -> Record:
    """The same search when it also has to say which stack comes nearest, as the command line asks it to."""
    record, answer = ours.run(question, budget, find_nearest=True)
    faults += _prefixed(record, question.faults(answer))
    return record


def _prefixed(record: Record, faults: Iterable[str]) -> list[str]:
    return [f"{record.method}: {words}" for words in faults]


def broken_proofs(records: list[Record], best: Key | None) -> list[str]:
    """Proofs that another method's answer contradicts."""
    return [
        f"{one.method}: proved {one.best}, and there is {best}"
        for one in records
        if one.proof is not None and one.best != best
    ]
