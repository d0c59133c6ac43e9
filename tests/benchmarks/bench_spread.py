"""Drawn dampers at once, as plans count, against the whole model asked for each: every candidate of the demo.

Run from the project's folder: ``python -m tests.benchmarks.bench_spread [draws] [processes] [stories]``. 5,000
draws of every candidate and step of effort of nine stories take some twenty minutes of one core, with planning.

JCGM 101:2008, clause 8: what is quicker than a Monte Carlo count of the whole model is held against one.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import cache

import numpy as np

from optimiser.files.job_reader import read_job
from optimiser.jobs.plan import plan_job
from optimiser.jobs.setup import set_up
from optimiser.spread.drawn_forces import Built
from tests.helpers.drawn_both_ways import Apart, Drawn, Floats, apart
from tests.helpers.paths import DEMO

STORIES = tuple(path.stem for path in sorted((DEMO / "jobs").glob("*.toml")))
AT_ONCE = 250
"""Draws that a process counts before it takes the next."""


def main(draws: int = 5000, processes: int = 1, stories: Sequence[str] = STORIES) -> None:
    """Draw every candidate both ways; print a row for each story."""
    print(f"{draws} draws; apart by, at most: ends of intervals as shares of the width, chances in points")
    print(f"{'':18}{'':>8}{'propagation alone':>20}{'as plans state it':>20}{'seconds':>16}")
    print(f"{'story':18}{'builds':>8}{'ends':>10}{'chance':>10}{'ends':>10}{'chance':>10}", end="")
    print(f"{'at once':>8}{'whole':>8}{'no damper':>11}")
    with ProcessPoolExecutor(processes) as pool:
        for story in stories:
            _story(story, draws, pool)


def _story(story: str, draws: int, pool: ProcessPoolExecutor) -> None:
    job = read_job(DEMO / "jobs" / f"{story}.toml")
    answer, ladder = (planned := plan_job(job)).answer, planned.ladder
    if answer is None:
        print(f"{story:18} the basics come first: no stack is planned")
        return
    listed = (*answer.candidates, answer.nearest, *(step.best for step in ladder))
    builds = tuple(dict.fromkeys(Built(one.stack, one.setting) for one in listed if one is not None))
    drawn = _drawn(story)
    model, goal = drawn.setup.job.model_uncertainty, drawn.setup.asked.goal
    count = len(drawn.directions)
    sample = drawn.directions.sample(draws, np.random.default_rng(7), further=model.draws)
    steps, factors = sample[:, :count], model.factors(goal.velocities, sample[:, count:])[:, None]
    begun = time.process_time()
    quick = drawn.quick_changes(builds, steps)
    at_once = time.process_time() - begun
    parts = [steps[first : first + AT_ONCE] for first in range(0, draws, AT_ONCE)]
    found = list(pool.map(_whole, [story] * len(parts), [builds] * len(parts), parts))
    whole = np.concatenate([changes for changes, _ in found])
    there = np.isfinite(whole).all(axis=(1, 2))
    alone = apart(goal, quick[there], whole[there])
    stated = apart(goal, (quick * factors)[there], (whole * factors)[there])
    print(f"{story:18}{len(builds):8d}{_worst(alone)}{_worst(stated)}", end="")
    print(f"{at_once:8.1f}{sum(spent for _, spent in found):8.0f}{int((~there).sum()):11d}", flush=True)


def _worst(found: list[Apart]) -> str:
    ends, chance = max(one.ends for one in found), max(one.chance for one in found)
    return f"{100 * ends:8.1f} %{100 * chance:10.2f}"


def _whole(story: str, builds: tuple[Built, ...], steps: Floats) -> tuple[Floats, float]:
    """Changes by the whole model, and seconds of one core."""
    begun = time.process_time()
    return _drawn(story).whole_changes(builds, steps), time.process_time() - begun


@cache
def _drawn(story: str) -> Drawn:
    return Drawn(set_up(read_job(DEMO / "jobs" / f"{story}.toml")))


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:3]] or [5000]
    main(numbers[0], numbers[-1] if len(numbers) > 1 else 1, sys.argv[3:] or STORIES)
