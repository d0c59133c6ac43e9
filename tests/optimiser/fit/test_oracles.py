"""Best draws and ends of intervals against other programs' least squares: lmfit and iminuit."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import lmfit
import numpy as np
import pytest
from iminuit import Minuit
from numpy.typing import NDArray

from optimiser.files.damper_builder import read_typed_damper
from optimiser.fit.discrepancy import basis
from optimiser.fit.fit_runs import told_by_runs
from optimiser.fit.posterior import Best, Evidence, LeastSquares
from optimiser.fit.profile import CONFIDENCE, Profile
from optimiser.fit.run_model import RunModel, of_sample
from optimiser.fit.sample import sample_of
from tests.helpers.fit_twins import hidden, session
from tests.helpers.paths import STIFF_SHOP

Floats = NDArray[np.float64]

DESCRIBED = read_typed_damper(STIFF_SHOP / "dampers" / "dunnock_shock.toml")
FIGURES = (
    "height of the seat of 'rebound stack'",
    "open areas of 'rebound'",
    "needle's place, in clicks of 'rebound'",
)


@cache
def problem() -> tuple[LeastSquares, Best, int]:
    """Three figures of a twin, with errors of such a size that the sum at the best is the number of points."""
    twin = hidden(DESCRIBED, 2)
    sample = sample_of(DESCRIBED.damper, session(twin, seed=2))
    unknowns = [next(one for one in told_by_runs(DESCRIBED) if one.words == words) for words in FIGURES]
    model = RunModel(DESCRIBED.damper, unknowns, of_sample(DESCRIBED.damper, sample))
    shapes = basis(sample.velocities)
    covariance = sample.covariance(model.warmth(np.zeros(3))) + 0.02**2 * shapes @ shapes.T
    count = sample.velocities.size
    evidence = Evidence(model=model, logarithms=sample.logarithms, covariance=covariance)
    for _ in range(4):
        squares = LeastSquares(evidence)
        best = squares.best(np.zeros(3))
        # lmfit scales its interval by the sum at the best; so that it is ours, that sum has to be the points
        evidence = replace(evidence, covariance=evidence.covariance * best.total / count)
    return squares, best, count


def residuals(draws: Floats) -> Floats:
    squares = problem()[0]
    return squares.residuals(draws, squares.model.logarithms(draws))


def test_the_best_draws_and_their_interval_are_those_of_lmfit() -> None:
    squares, best, count = problem()
    asked = lmfit.Parameters()
    for place in range(3):
        asked.add(f"z{place}", value=float(best.draws[place]) + 0.2)
    minimiser = lmfit.Minimizer(
        lambda now: residuals(np.array([now[f"z{place}"].value for place in range(3)])), asked
    )
    found = minimiser.minimize(method="leastsq", xtol=1e-6, ftol=1e-8, epsfcn=1e-4)
    theirs = np.array([found.params[f"z{place}"].value for place in range(3)])
    deviations = np.sqrt(np.diag(squares.covariance(best.slopes)))
    assert (np.abs(theirs - best.draws) < 0.1 * deviations).all()
    assert best.total == pytest.approx(float(found.chisqr), abs=0.05)
    assert found.ndata - found.nvarys == count  # as many are free as there are points
    ends = lmfit.conf_interval(minimiser, found, p_names=["z1"], sigmas=[CONFIDENCE])["z1"]
    ours = Profile(squares, best, points=count).estimate(1)
    width = ends[-1][1] - ends[0][1]
    assert ours.low == pytest.approx(ends[0][1], abs=0.05 * width)
    assert ours.high == pytest.approx(ends[-1][1], abs=0.05 * width)


def test_the_best_sum_and_interval_are_those_of_a_minimiser_that_knows_no_residuals() -> None:
    squares, best, count = problem()
    minuit = Minuit(lambda draws: float(residuals(draws) @ residuals(draws)), best.draws + 0.1)
    minuit.tol = 1.0
    minuit.errordef = Profile(squares, best, points=count).rise
    minuit.migrad()
    assert minuit.fval == pytest.approx(best.total, abs=0.05)
    minuit.minos(0)
    error = minuit.merrors[0]
    ours = Profile(squares, best, points=count).estimate(0)
    middle, width = float(minuit.values[0]), error.upper - error.lower
    assert ours.low == pytest.approx(middle + error.lower, abs=0.05 * width)
    assert ours.high == pytest.approx(middle + error.upper, abs=0.05 * width)
