"""Which run tells most about a band's change: held against fits of the linear problem with the run in it."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from optimiser.files.damper_builder import read_typed_damper
from optimiser.fit.discrepancy import basis
from optimiser.fit.fit import Fit
from optimiser.fit.fit_runs import fit_runs
from optimiser.fit.next_run import PossibleRun, next_run, possible_runs
from optimiser.fit.observed import READ_TEMPERATURE, RUN_TO_RUN
from optimiser.fit.run_model import RunModel, askings
from optimiser.fit.sample import LEAST_SPREAD
from tests.helpers.counts import thorough_only
from tests.helpers.fit_twins import hidden, session
from tests.helpers.paths import STIFF_SHOP

Floats = NDArray[np.float64]

DESCRIBED = read_typed_damper(STIFF_SHOP / "dampers" / "dunnock_shock.toml")


@cache
def sparse() -> Fit:
    """A fit to the damper as it stands alone, run fast only: slow runs and other clicks are still to be made."""
    twin = hidden(DESCRIBED, 1)
    return fit_runs(DESCRIBED, session(twin, seed=1, settings=({},), speeds=(0.26, 0.52, 1.04)))


def one_of(figure: str, owner: str) -> Floats:
    """A band's change that rests on one figure alone."""
    return np.array(
        [float(one.figure == figure and one.owner == owner) for one in sparse().knowledge.unknowns]
    )


def spread_with(run: PossibleRun, asked: Floats) -> float:
    """Standard deviation of a change when the run is one of those that were fitted to, from the whole problem."""
    fit = sparse()
    velocities = np.array([run.speed, -run.speed])
    model = RunModel(
        DESCRIBED.damper, fit.knowledge.unknowns, askings([(run.clicks, run.temperature, velocities)])
    )
    slopes = np.vstack([fit.slopes, model.slopes(fit.knowledge.mean)])
    all_velocities = np.concatenate([fit.sample.velocities, velocities])
    warm = READ_TEMPERATURE * model.warmth(fit.knowledge.mean)
    noise = np.zeros((all_velocities.size, all_velocities.size))
    noise[:-2, :-2] = fit.noise
    noise[-2:, -2:] = LEAST_SPREAD**2 * np.eye(2) + RUN_TO_RUN**2 + np.outer(warm, warm)
    shapes = basis(all_velocities)
    whole = noise + fit.discrepancy.size**2 * shapes @ shapes.T
    covariance = np.linalg.inv(np.eye(asked.size) + slopes.T @ np.linalg.solve(whole, slopes))
    return float(np.sqrt(asked @ covariance @ asked))


@thorough_only("fits twice; a quick run tries which run is named")
def test_what_a_run_would_leave_is_what_a_fit_with_it_leaves() -> None:
    asked = one_of("areas", "rebound")
    runs = possible_runs(DESCRIBED.damper)[::5]
    advice = next_run(DESCRIBED.damper, sparse(), shifts=[asked], runs=runs)
    everyone = [spread_with(run, asked) for run in runs]
    assert np.isclose(advice.best.after, spread_with(advice.best.run, asked), rtol=1e-3)
    assert np.isclose(advice.best.after, min(everyone), rtol=1e-3)
    assert advice.best.after < 0.9 * advice.best.before


@thorough_only("fits once more")
def test_a_change_that_rests_on_a_rebound_adjuster_is_told_by_rebound() -> None:
    advice = next_run(
        DESCRIBED.damper, sparse(), shifts=[one_of("areas", "rebound")], runs=possible_runs(DESCRIBED.damper)
    )
    assert advice.best.stroke == -1


def test_the_check_is_another_run_than_the_best() -> None:
    runs = possible_runs(DESCRIBED.damper)
    advice = next_run(DESCRIBED.damper, sparse(), shifts=[one_of("areas", "rebound")], runs=runs)
    assert advice.check != advice.best.run
    assert advice.check_spread > 0


def test_every_adjuster_is_run_as_it_stands_and_near_both_ends() -> None:
    runs = possible_runs(DESCRIBED.damper)
    assert {run.clicks for run in runs} == {
        (("rebound", position),)
        for position in (
            DESCRIBED.damper.clickers[0].position,
            round(0.1 * (len(DESCRIBED.damper.clickers[0].areas) - 1)),
            round(0.9 * (len(DESCRIBED.damper.clickers[0].areas) - 1)),
        )
    }
