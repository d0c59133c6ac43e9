"""Twins of dampers fitted: what lies inside its interval, how far the force is off, how much narrower it gets.

Run from the project's folder: ``python -m tests.benchmarks.bench_fit [seeds] [changed stacks] [processes] [short]
[first seed]``. Fifty twins, ten seeds of five dampers, with ten changed stacks each take some eight minutes of one core.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from itertools import product
from pathlib import Path

import numpy as np

from optimiser.files.damper_builder import read_typed_damper
from optimiser.fit.fit_runs import fit_runs
from optimiser.fit.profile import FigureLabel
from tests.helpers.fit_twins import covering_session, hidden, left_out_miss, session
from tests.helpers.paths import STIFF_SHOP
from tests.helpers.shift_cases import ShiftCase, shift_cases

DAMPERS = tuple(
    STIFF_SHOP / "dampers" / f"{name}.toml"
    for name in ("tarn_shock", "yaffle_fork", "morwen_shock", "dunnock_shock")
)
NEWCOMER = STIFF_SHOP.parent / "newcomers" / "buggy_shop" / "dampers" / "sxs.toml"
HALF = 0.5
SHARES = (0.05, 0.25, 0.5, 0.75, 0.9, 0.95, 1.0)
"""Of the cases, whose widths are printed."""


@dataclass(frozen=True, kw_only=True)
class FittedTwin:
    """What became of one twin.

    Parameters
    ----------
    hits : for each identified figure, whether it lies in its interval.
    missed, planned : how far the force is off at velocities and clicks left out, by the fit and in plans. [-]
    holds : whether the fit is said to hold.
    cases : changes of bands.
    seconds : of one core for the fit, and for the cases.
    """

    hits: tuple[bool, ...]
    missed: float
    planned: float
    holds: bool
    cases: tuple[ShiftCase, ...]
    seconds: tuple[float, float]


def main(seeds: int = 10, changes: int = 10, processes: int = 1, short: int = 0, first: int = 1) -> None:
    """Fit so many twins of each damper and print a row for each damper, and one for all.

    ``short`` is 1 for a usual session of six speeds at one temperature instead of one that covers the bands;
    ``first`` is the first seed.
    """
    print(
        f"{'damper':16}{'fits':>5}{'figures in':>13}{'off, left out':>15}{'plan':>8}{'shifts in':>13}", end=""
    )
    print(f"{'narrower':>10}{'halved':>9}{'read too':>10}{'holds':>7}{'seconds, fit and cases':>24}")
    of_all: list[FittedTwin] = []
    with ProcessPoolExecutor(processes) as pool:
        for path in (*DAMPERS, NEWCOMER):
            asked = product([path], range(first, first + seeds), [changes], [short])
            found = list(pool.map(_fitted, *zip(*asked, strict=True)))
            _row(path.stem, found)
            of_all += found
    _row("all", of_all)
    _distribution(of_all)


def _fitted(path: Path, seed: int, changes: int, short: int) -> FittedTwin:
    described = read_typed_damper(path)
    twin = hidden(described, seed)
    runs = session(twin, seed=seed) if short else covering_session(twin, seed=seed)
    begun = time.process_time()
    fit = fit_runs(described, runs)
    fitted = time.process_time()
    cases = shift_cases(twin, fit, count=changes, seed=seed)
    return FittedTwin(
        hits=tuple(
            one.low <= true <= one.high
            for one, true in zip(fit.estimates, twin.draws, strict=True)
            if one.label is FigureLabel.IDENTIFIED
        ),
        missed=left_out_miss(twin, fit.knowledge.mean),
        planned=left_out_miss(twin, fit.for_plans),
        holds=fit.verdict.holds,
        cases=tuple(cases),
        seconds=(fitted - begun, time.process_time() - fitted),
    )


def _row(name: str, found: Sequence[FittedTwin]) -> None:
    hits = [hit for one in found for hit in one.hits]
    cases = [case for one in found for case in one.cases]
    narrower = np.array([case.narrower for case in cases])
    read = np.array([case.with_readings for case in cases])
    missed, planned = (max(getattr(one, which) for one in found) for which in ("missed", "planned"))
    seconds = np.mean([one.seconds for one in found], axis=0)
    print(
        f"{name:16}{len(found):5d}{100 * np.mean(hits):7.1f} %/{len(hits):3d}{100 * missed:13.2f} %"
        f"{100 * planned:6.2f} %{100 * np.mean([case.inside for case in cases]):7.1f} %/{len(cases):3d}"
        f"{np.median(narrower):10.2f}{100 * np.mean(narrower <= HALF):7.0f} %{100 * np.mean(read <= HALF):8.0f} %"
        f"{sum(one.holds for one in found):4d}/{len(found)}{seconds[0]:14.1f}{seconds[1]:10.1f}",
        flush=True,
    )


def _distribution(found: Sequence[FittedTwin]) -> None:
    """How widths over those without a fit are spread, over cases and over twins, and of what size halves miss."""
    cases = [case for one in found for case in one.cases]
    narrower = np.array([case.narrower for case in cases])
    twins = np.array([np.median([case.narrower for case in one.cases]) for one in found])
    print("width over that without a fit, below which lie so many of the cases:")
    print("  " + "   ".join(f"{100 * share:.0f} %: {np.quantile(narrower, share):.2f}" for share in SHARES))
    print(f"twins whose median is at most a half: {np.sum(twins <= HALF)} of {len(twins)}")
    wide = [case for case in cases if case.narrower > HALF]
    if wide:
        print(
            f"the {len(wide)} cases that do not halve: interval as wide as {np.median([one.width for one in wide]):.3f} "
            f"(median), of a change of {np.median([abs(one.shift) for one in wide]):.3f}; "
            f"{sum(one.with_readings <= HALF for one in wide)} would, were the shims read with a micrometer too"
        )


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
