"""A fit from end to end: twins whose figures are known, runs that cannot tell, a model that is wrong."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from optimiser.dyno.run import DynoRun
from optimiser.errors import InputError
from optimiser.files.damper_builder import read_typed_damper
from optimiser.fit.fit import Fit
from optimiser.fit.fit_runs import fit_runs, stays_nominal, told_by_runs
from optimiser.fit.posterior import StoppedError
from optimiser.fit.profile import FigureLabel
from optimiser.unknowns.unknown import Owner
from tests.helpers.counts import thorough_only
from tests.helpers.fit_twins import Hidden, hidden, left_out_miss, session
from tests.helpers.paths import STIFF_SHOP
from tests.helpers.shift_cases import shift_cases

TESTS = Path(__file__).parents[2]
DUNNOCK = STIFF_SHOP / "dampers" / "dunnock_shock.toml"
DAMPERS = (
    DUNNOCK,
    *(STIFF_SHOP / "dampers" / f"{name}.toml" for name in ("tarn_shock", "morwen_shock", "yaffle_fork")),
    TESTS / "data" / "newcomers" / "buggy_shop" / "dampers" / "sxs.toml",
)


@cache
def twin(path: Path, seed: int) -> Hidden:
    return hidden(read_typed_damper(path), seed)


@cache
def fitted(path: Path, seed: int) -> Fit:
    one = twin(path, seed)
    return fit_runs(one.described, session(one, seed=seed))


def inside(one: Hidden, fit: Fit) -> list[bool]:
    """Whether each identified figure lies in its interval."""
    return [
        estimate.low <= true <= estimate.high
        for estimate, true in zip(fit.estimates, one.draws, strict=True)
        if estimate.label is FigureLabel.IDENTIFIED
    ]


def test_a_twin_s_figures_lie_in_their_intervals_and_its_force_is_met_where_nobody_measured() -> None:
    one, fit = twin(DUNNOCK, 1), fitted(DUNNOCK, 1)
    assert fit.verdict.holds
    hits = inside(one, fit)
    assert len(hits) >= 6
    assert sum(hits) >= len(hits) - 1
    miss = left_out_miss(one, fit.knowledge.mean)
    assert miss < 0.02
    assert miss < 0.5 * left_out_miss(one, np.zeros(one.draws.size))


def test_flat_figures_stay_as_written_and_the_steel_stays_so_in_plans() -> None:
    fit = fitted(DUNNOCK, 1)
    for estimate, plan in zip(fit.estimates, fit.for_plans, strict=True):
        if estimate.label is FigureLabel.FLAT:
            assert estimate.draw == 0
        if stays_nominal(estimate.unknown):
            assert plan == 0
    assert {one.unknown.figure for one in fit.labelled(FigureLabel.FLAT)} >= {"swept_area"}
    # and a plan's damper still gives what was measured, and what was not
    assert max(miss.plan for miss in fit.misses() if miss.band != "low speed") < 0.03
    assert left_out_miss(twin(DUNNOCK, 1), fit.for_plans) < 0.02


def test_what_a_ride_decides_is_none_of_the_dyno_s() -> None:
    told = told_by_runs(twin(DUNNOCK, 1).described)
    assert (Owner.DAMPER, "temperature") not in {(one.owner, one.figure) for one in told}
    assert Owner.SHIMS_OF_THE_SHELF not in {one.owner for one in told}


@thorough_only("fits once more; a quick run fits a whole session")
def test_runs_at_one_setting_cannot_tell_a_needle_s_place_from_its_areas_and_say_so() -> None:
    one = twin(DUNNOCK, 1)
    fit = fit_runs(one.described, session(one, seed=1, settings=({},), repeats=3))
    pairs = {
        frozenset(fit.estimates[place].unknown.figure for place in (pair.first, pair.second))
        for pair in fit.together(beyond=0.6)
    }
    known = {estimate.unknown.figure: estimate for estimate in fit.estimates}
    assert frozenset({"areas", "needle"}) in pairs or known["needle"].label is FigureLabel.FLAT
    # with the adjuster at both ends they are told apart
    apart = {estimate.unknown.figure: estimate for estimate in fitted(DUNNOCK, 1).estimates}
    width = {name: one["areas"].high - one["areas"].low for name, one in (("one", known), ("both", apart))}
    assert width["both"] < 0.7 * width["one"]


def bent(run: DynoRun, by: float) -> DynoRun:
    """A run of a damper whose force bends off the model's from 0.3 m/s on, as where ports behave otherwise."""
    points = tuple(
        replace(
            point,
            force=point.force
            + point.sign
            * abs(run.damping_force(point))
            * by
            * np.tanh(max(abs(point.velocity) - 0.3, 0) / 0.2),
        )
        for point in run.points
    )
    return replace(run, points=points)


@thorough_only("fits twice; the verdict is tried by itself")
def test_a_wrong_model_widens_the_intervals_or_is_said_not_to_hold() -> None:
    one, right = twin(DUNNOCK, 1), fitted(DUNNOCK, 1)
    runs = [bent(run, 0.35) for run in session(one, seed=1)]
    wrong = fit_runs(one.described, runs)
    assert not wrong.verdict.holds
    assert wrong.discrepancy.size > 2 * right.discrepancy.size
    told = [estimate.label is FigureLabel.IDENTIFIED for estimate in right.estimates]
    widths = [
        (after.high - after.low) / (before.high - before.low)
        for before, after, label in zip(right.estimates, wrong.estimates, told, strict=True)
        if label and before.unknown.figure != "friction"
    ]
    assert np.median(widths) > 1.3


@thorough_only("fits once more; a quick run tries the tests of the verdict alone")
def test_runs_far_from_one_another_are_said_to_scatter() -> None:
    one = twin(DUNNOCK, 1)
    runs = list(session(one, seed=1))
    # one run whose file tells the wrong clicks
    runs[1] = replace(runs[1], clicks=runs[2].clicks)
    assert not fit_runs(one.described, runs).verdict.holds


def test_a_fit_can_be_stopped_and_shows_how_far_it_has_come() -> None:
    one, said = twin(DUNNOCK, 1), list[str]()
    with pytest.raises(StoppedError):
        fit_runs(one.described, session(one, seed=1), say=said.append, should_stop=lambda: True)
    assert said == ["36 points of 3 runs, 25 figures: looking for the best"]


def test_no_runs_are_refused() -> None:
    with pytest.raises(InputError, match="got no runs to fit to"):
        fit_runs(twin(DUNNOCK, 1).described, [])


@thorough_only("fits ten twins, a minute; bench_fit fits fifty")
def test_of_ten_twins_identified_figures_and_changes_of_bands_lie_in_their_intervals() -> None:
    hits: list[bool] = []
    missed, cases = [], []
    for path in DAMPERS:
        for seed in range(1, 3):
            one, fit = twin(path, seed), fitted(path, seed)
            hits += inside(one, fit)
            missed += [left_out_miss(one, draws) for draws in (fit.knowledge.mean, fit.for_plans)]
            cases += shift_cases(one, fit, count=1, seed=seed)
    assert 0.90 <= np.mean(hits) <= 0.99
    assert max(missed) < 0.02
    assert np.mean([case.inside for case in cases]) >= 0.90
    assert np.median([case.narrower for case in cases]) < 0.5
