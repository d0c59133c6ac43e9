"""All stacks of a damper at once, beside each stack by itself and the pairs by enumeration.

Run from the project's folder: ``python -m tests.benchmarks.bench_several [--jobs a,b] [--changes 2,3] [--time-limit S] [--cores N] [--markdown]``.
"""

from __future__ import annotations

import argparse
import math
import os
import resource
import sys
from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from optimiser.model.answer import Status
from optimiser.model.damper_answer import DamperAnswer
from optimiser.model.whole_certificate import whole_faults
from optimiser.search import Control, Progress
from optimiser.search.warm_up import warm_up
from optimiser.several import solve_whole
from tests.benchmarks.rivals import table
from tests.benchmarks.several.jobs import WholeJob, jobs
from tests.benchmarks.several.one_by_one import OneByOne, one_by_one

Answer = TypeVar("Answer")

HEAD = ("job", "changes", "all at once, s", "what it has", "one by one, s", "what it has", "ratio")


def main() -> int:
    """Print a table; 1 when an answer does not hold, or the baseline has a better one."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--jobs", default="", help="letters of jobs, as in a,c; all when left out")
    parser.add_argument("--changes", default="2,3", help="changes allowed, as in 2,3; both when left out")
    parser.add_argument(
        "--time-limit",
        type=float,
        default=900.0,
        help="of each search, in seconds by the clock; 900 when left out",
    )
    parser.add_argument("--cores", type=int, help="processes at most; as many as cores when left out")
    parser.add_argument("--markdown", action="store_true", help="a table for docs/model/search-benchmark.md")
    asked = parser.parse_args()
    every = {one.name.partition(":")[0]: one for one in jobs()}
    wanted = [word.strip() for word in asked.jobs.split(",")] if asked.jobs else list(every)
    if unknown := [word for word in wanted if word not in every]:
        parser.error(f"--jobs: got {', '.join(unknown)}, expected some of {', '.join(every)}.")
    control = Control[Progress](time_limit=asked.time_limit, cores=asked.cores)
    print(f"{asked.cores or os.cpu_count()} processes at most; seconds are of processor time.\n")
    warm_up()
    rows, wrong = [], []
    for changes in map(int, asked.changes.split(",")):
        for job in (every[word] for word in wanted):
            row, faults = compared(job, changes, control)
            rows.append(row)
            wrong += faults
            print(table.as_text(HEAD, [row]), flush=True)
    print("\n" + (table.as_markdown if asked.markdown else table.as_text)(HEAD, rows))
    for fault in wrong:
        print(f"FAULT: {fault}")
    return 1 if wrong else 0


def compared(job: WholeJob, changes: int, control: Control[Progress]) -> tuple[table.Row, list[str]]:
    """One row, and what is wrong with the answers."""
    problem = job.problem()
    setting = problem.setting
    ours, own = timed(
        lambda: solve_whole(problem, most_changes=changes, control=control, wanted=4, setting=setting)
    )
    if ours.candidates:
        own = min(own, until_least(job, changes, control, ours.candidates[0].number_of_changes))
    fresh = job.problem()  # nothing that the other asked is remembered
    begun = _spent()
    theirs, others = timed(
        lambda: one_by_one(
            fresh, most_changes=changes, control=control, goes_on=lambda: _spent() - begun < 2 * own
        )
    )
    faults = [f"{job.name}: {words}" for words in whole_faults(ours, job.problem())]
    least = ours.candidates[0].number_of_changes if ours.candidates else None
    if theirs.least is not None and theirs.least <= ours.proven_too_few:
        faults.append(f"{job.name}: one by one has {theirs.least}, called too few")
    if least is not None and least <= theirs.too_few:
        faults.append(f"{job.name}: one by one calls {least} too few")
    row = (
        job.name,
        f"{changes}",
        table.time_text(own),
        _outcome(ours),
        ("" if theirs.finished else "> ") + table.time_text(others),
        _of_baseline(theirs, changes),
        ("" if theirs.finished else "< ") + f"{own / others:.2f}",
    )
    return row, faults


def until_least(job: WholeJob, changes: int, control: Control[Progress], least: int) -> float:
    """Processor time until the fewest changes are proven, without the search for closer ones. [s]"""
    problem = job.problem()
    proven: list[Progress] = []

    def watch(progress: Progress) -> None:
        if progress.found and progress.proven_too_few == least - 1:
            proven.append(progress)

    until = replace(control, progress=watch, should_stop=lambda: bool(proven))
    found, own = timed(
        lambda: solve_whole(problem, most_changes=changes, control=until, wanted=1, setting=problem.setting)
    )
    is_proven = (
        found.proven_too_few == least - 1
        and found.candidates
        and found.candidates[0].number_of_changes == least
    )
    return own if is_proven else math.inf


def timed(work: Callable[[], Answer]) -> tuple[Answer, float]:
    """What comes of some work, and the processor time that it took, that of ended processes included. [s]"""
    begun = _spent()
    answer = work()
    return answer, _spent() - begun


def _spent() -> float:
    each = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(one.ru_utime + one.ru_stime for one in each)


def _outcome(answer: DamperAnswer) -> str:
    if answer.status is Status.PROVEN_IMPOSSIBLE:
        return f"proven: {answer.most_changes} will not do"
    if not answer.candidates:
        return f"time ran out; proven that {answer.proven_too_few} will not do"
    first = answer.candidates[0]
    words = f"{first.number_of_changes} in {first.assemblies} assemblies"
    if answer.status is not Status.PROVEN_LEAST:
        return f"{words}; proven that {answer.proven_too_few} will not do"
    return f"proven least: {words}" + (", the closest" if answer.closest_proven else "")


def _of_baseline(one: OneByOne, changes: int) -> str:
    if one.least is not None:
        return f"{one.least} will do, {one.too_few} will not"
    return f"{one.too_few} will not do" + ("" if one.finished else "; given up")


if __name__ == "__main__":
    sys.exit(main())
