"""Twins of dampers fitted: what lies inside its interval, how far the force is off, how much narrower it gets.

Run from the project's folder: ``python -m tests.benchmarks.bench_fit [seeds] [changed stacks]``. Fifty twins,
ten seeds of five dampers, take some ten minutes on one core.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from optimiser.files.damper_builder import read_typed_damper
from optimiser.fit.fit_runs import fit_runs
from optimiser.fit.profile import FigureLabel
from tests.helpers.fit_twins import ShiftCase, hidden, left_out_miss, session, shift_cases
from tests.helpers.paths import STIFF_SHOP

DAMPERS = tuple(
    STIFF_SHOP / "dampers" / f"{name}.toml"
    for name in ("tarn_shock", "yaffle_fork", "morwen_shock", "dunnock_shock")
)
NEWCOMER = STIFF_SHOP.parent / "newcomers" / "buggy_shop" / "dampers" / "sxs.toml"


def main(seeds: int = 10, changes: int = 10) -> None:
    """Fit so many twins of each damper and print a row for each damper, and one for all."""
    print(
        f"{'damper':16}{'fits':>5}{'figures in':>13}{'off, left out':>15}{'plan':>8}{'shifts in':>12}", end=""
    )
    print(f"{'narrower':>10}{'holds':>7}{'seconds':>9}")
    hits_of_all: list[bool] = []
    cases_of_all: list[ShiftCase] = []
    for path in (*DAMPERS, NEWCOMER):
        described = read_typed_damper(path)
        hits: list[bool] = []
        cases: list[ShiftCase] = []
        missed, planned, held = [], [], 0
        spent = 0.0
        for seed in range(1, seeds + 1):
            twin = hidden(described, seed)
            runs = session(twin, seed=seed)
            begun = time.process_time()
            fit = fit_runs(described, runs)
            spent += time.process_time() - begun
            hits += [
                one.low <= true <= one.high
                for one, true in zip(fit.estimates, twin.draws, strict=True)
                if one.label is FigureLabel.IDENTIFIED
            ]
            missed.append(left_out_miss(twin, fit.knowledge.mean))
            planned.append(left_out_miss(twin, fit.for_plans))
            held += fit.verdict.holds
            cases += shift_cases(twin, fit, count=changes, seed=seed)
        _row(path.stem, seeds, hits, (max(missed), max(planned)), cases, f"{held}/{seeds}", spent / seeds)
        hits_of_all += hits
        cases_of_all += cases
    _row("all", 5 * seeds, hits_of_all, (0.0, 0.0), cases_of_all, "", 0.0)
    half = np.mean([case.narrower <= 0.5 for case in cases_of_all])
    print(f"at most half as wide as without a fit: {100 * half:.0f} % of the changes")


def _row(
    name: str,
    fits: int,
    hits: list[bool],
    missed: tuple[float, float],
    cases: list[ShiftCase],
    held: str,
    seconds: float,
) -> None:
    inside = np.mean([case.inside for case in cases])
    narrower = np.median([case.narrower for case in cases])
    print(
        f"{name:16}{fits:5d}{100 * np.mean(hits):7.1f} %/{len(hits):3d}{100 * missed[0]:13.2f} %"
        f"{100 * missed[1]:6.2f} %{100 * inside:7.1f} %/{len(cases):2d}{narrower:10.2f}{held:>7}{seconds:9.1f}",
        flush=True,
    )


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
