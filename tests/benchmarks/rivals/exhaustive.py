"""Brute force: every stack that may be built, in the order of changes."""

from __future__ import annotations

from collections.abc import Iterator

from optimiser.model.stock import ShimKey
from tests.benchmarks.rivals.question import Question
from tests.benchmarks.rivals.recorder import Budget, End, Record
from tests.benchmarks.rivals.rival_evaluator import RivalEvaluator
from tests.helpers.brute_force import Name, Row, name_of, one_in, one_out, row_of

NAME = "brute force"


def run(question: Question, budget: Budget) -> Record:
    """Try all stacks of one change, then of two, and stop after the first number that has an answer."""
    evaluator = RivalEvaluator(question, budget)

    def work() -> End:
        seen = {evaluator.old}
        types = sorted({*evaluator.old, *question.stock.fitting(inner=evaluator.old[0].inner)})
        for changes in range(1, question.most_changes + 1):
            for name in of_changes(evaluator.old, types, changes):
                evaluator.check_budget()
                if name not in seen:
                    seen.add(name)
                    if evaluator.may_be_built(name):
                        evaluator.evaluate(name)
            if evaluator.found:
                break
        return "proof"

    return evaluator.record(NAME, work, proves=True)


def of_changes(old: Name, types: list[ShimKey], changes: int) -> Iterator[Name]:
    """Stacks with so many out and no more in, then so many in and fewer out; some come more than once."""
    taken: list[set[Row]] = [{row_of(old)}]
    for _ in range(changes):
        taken.append(set().union(*(one_out(row) for row in taken[-1])))
    for put_in in range(changes + 1):
        for row in sorted(taken[changes]):
            yield from _filled(row, types, put_in)
    for out in range(changes):
        for row in sorted(taken[out]):
            yield from _filled(row, types, changes)


def _filled(row: Row, types: list[ShimKey], put_in: int) -> Iterator[Name]:
    """A stack with so many more shims; made one at a time, since there may be millions."""
    if put_in == 0:
        yield name_of(row)
        return
    for one in sorted(one_in(row, types)):
        yield from _filled(one, types, put_in - 1)
