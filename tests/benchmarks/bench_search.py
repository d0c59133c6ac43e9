"""The search beside other ways to the same answer, and how it grows.

Run from the project's folder: ``python -m tests.benchmarks.bench_search [rivals|growth] [--cap S] [--runs N] [--jobs 1,2] [--markdown]``.
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
from collections.abc import Callable, Sequence
from importlib.metadata import version

from tests.benchmarks.rivals import exhaustive, growth, ours, table
from tests.benchmarks.rivals.contest import contest
from tests.benchmarks.rivals.jobs import questions
from tests.benchmarks.rivals.recorder import Budget

COMPARED = ("numpy", "scipy", "pymoo", "ortools")


def main() -> int:
    """Print the tables; 1 when an answer or a proof does not hold."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument(
        "what", nargs="?", choices=("rivals", "growth"), help="one of the two; both when left out"
    )
    parser.add_argument(
        "--cap",
        type=float,
        default=120.0,
        help="seconds of processor time for each method and job; 120 when left out",
    )
    parser.add_argument(
        "--runs",
        type=int,
        default=20_000,
        help="runs of the physics for each rival's job; 20000 when left out",
    )
    parser.add_argument(
        "--jobs", default="", help="numbers of the rivals' jobs, as in 1,2; all when left out"
    )
    parser.add_argument("--markdown", action="store_true", help="tables for docs/model/search-benchmark.md")
    asked = parser.parse_args()
    layout = table.as_markdown if asked.markdown else table.as_text
    packages = ", ".join(f"{name} {version(name)}" for name in COMPARED)
    print(
        f"Python {platform.python_version()}, {packages}; {os.cpu_count()} processor cores; seconds are of processor time.\n"
    )
    sound = True
    if asked.what != "growth":
        jobs = {question.name.partition(":")[0]: question for question in questions()}
        wanted = [word.strip() for word in asked.jobs.split(",")] if asked.jobs else list(jobs)
        if unknown := [word for word in wanted if word not in jobs]:
            parser.error(
                f"--jobs: got {', '.join(unknown)}, expected some of {', '.join(jobs)}, parted by commas."
            )
        for method in (ours, exhaustive):  # what is loaded once is loaded by now, whatever comes first below
            method.run(jobs["1"], Budget(asked.runs, asked.cap))
        for question in (jobs[word] for word in wanted):
            held = contest(question, Budget(asked.runs, asked.cap))
            show(f"Job {question.name}", table.HEAD, table.rows(held), table.sentences(held), layout)
            sound = sound and not held.faults
    if asked.what != "rivals":
        for title, head, cases in growth.tables():
            rows = [growth.row(case, Budget(sys.maxsize, asked.cap)) for case in cases]
            show(title, head, rows, [], layout)
            sound = sound and not any("FAULT" in cell for row in rows for cell in row)
    return 0 if sound else 1


def show(
    title: str,
    head: table.Row,
    rows: Sequence[table.Row],
    sentences: Sequence[str],
    layout: Callable[[table.Row, Sequence[table.Row]], str],
) -> None:
    """Print one table with what is to be said about it, as soon as it is known."""
    print(f"**{title}**\n" if layout is table.as_markdown else title)
    print(layout(head, rows) + "\n")
    for sentence in sentences:
        print(sentence)
    if sentences:
        print()
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
