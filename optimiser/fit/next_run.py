"""Which run on the dyno would tell most about the change of a band, and which would test the model.

A run that tells a port twice as surely says little when the band does not rest on that port. So runs are held
against the variance of the band's change: linear and normal, about the fit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.damper import Damper
from damping_model.units import kelvin
from optimiser.fit.discrepancy import basis
from optimiser.fit.fit import Fit
from optimiser.fit.observed import READ_TEMPERATURE, RUN_TO_RUN
from optimiser.fit.run_model import Clicks, RunModel, askings
from optimiser.fit.sample import LEAST_SPREAD

Floats = NDArray[np.float64]

SPEEDS: Final = (0.02, 0.05, 0.13, 0.26, 0.52, 1.04)
"""Peaks of velocity that dynos are run at: QC/T 491-2018, and two slower. [m/s]"""

TEMPERATURES: Final = (20.0, 40.0, 60.0)
"""Of the damper that a run may have. [°C]"""

MOST_RUNS: Final = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class PossibleRun:
    """A sine that could be run.

    Parameters
    ----------
    speed : its peak velocity. [m/s]
    clicks : out of every adjuster.
    temperature : of the damper. [K]
    """

    speed: float
    clicks: Clicks
    temperature: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NextRun:
    """What a run would tell.

    Parameters
    ----------
    run : the run.
    stroke : 1 where compression tells most of it, -1 where rebound does.
    before, after : standard deviation of the band's change before and after it. [-]
    """

    run: PossibleRun
    stroke: float
    before: float
    after: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RunAdvice:
    """The two runs to make.

    Parameters
    ----------
    best : the one that tells most about the band's change.
    check : the one whose force is known least once that is made: a wrong model would show there.
    check_spread : standard deviation of that force, as a share. [-]
    """

    best: NextRun
    check: PossibleRun
    check_spread: float


def possible_runs(damper: Damper) -> tuple[PossibleRun, ...]:
    """Usual speeds and temperatures, with each adjuster as it stands, nearly closed and nearly open."""
    own = {clicker.name: clicker.position for clicker in damper.clickers}
    settings = [own]
    for clicker in damper.clickers:
        most = len(clicker.areas) - 1
        settings += [own | {clicker.name: round(share * most)} for share in (0.1, 0.9)]
    return tuple(
        PossibleRun(
            speed=speed, clicks=tuple(sorted(clicks.items())), temperature=kelvin(celsius=temperature)
        )
        for clicks in settings
        for temperature in TEMPERATURES
        for speed in SPEEDS
    )[:MOST_RUNS]


def next_run(damper: Damper, fit: Fit, *, shifts: Sequence[Floats], runs: Sequence[PossibleRun]) -> RunAdvice:
    """The run that tells most about a band's change.

    Parameters
    ----------
    damper : as its file describes it.
    fit : what runs told so far.
    shifts : change of the band's change by the draws, one row for each stack that it may come to;
        the mean of their variances counts (unknowns,). [-]
    runs : that could be made.

    Notes
    -----
    Figures and discrepancy together are normal with covariance P. A run with slopes H and errors R takes
    P H' (H P H' + R)^-1 H P off it: Kalman's update, here of the one direction that the band's change is.
    """
    known = _joint(fit)
    count = fit.knowledge.mean.size
    asked = np.array([np.concatenate([row, np.zeros(known.shape[0] - count)]) for row in shifts])
    slopes, warmth = _slopes(damper, fit, runs)
    before = _spread_of(asked, known)
    found = []
    for place, run in enumerate(runs):
        both = slice(2 * place, 2 * place + 2)
        after, alone = _after(asked, known, slopes[both], warmth[both])
        found.append(NextRun(run=run, stroke=alone, before=before, after=after))
    best = min(found, key=lambda one: one.after)
    place = found.index(best)
    both = slice(2 * place, 2 * place + 2)
    left = known - _taken(known, slopes[both], _errors(warmth[both]))
    spreads = np.sqrt(np.einsum("ij,jk,ik->i", slopes, left, slopes)).reshape(-1, 2).max(axis=1)
    away = int(spreads.argmax())
    return RunAdvice(best=best, check=runs[away], check_spread=float(spreads[away]))


def _joint(fit: Fit) -> Floats:
    """Covariance of draws and of the discrepancy's knots together, after the runs."""
    design = np.hstack([fit.slopes, basis(fit.sample.velocities)])
    count = fit.slopes.shape[1]
    prior = np.concatenate([np.ones(count), np.full(design.shape[1] - count, fit.discrepancy.size**-2)])
    information = design.T @ np.linalg.solve(fit.noise, design) + np.diag(prior)
    return np.asarray(np.linalg.inv(information), dtype=np.float64)


def _slopes(damper: Damper, fit: Fit, runs: Sequence[PossibleRun]) -> tuple[Floats, Floats]:
    """Change of every run's two logarithms, compression's first, by draws and knots; by temperature [1/K]."""
    velocities = [np.array([run.speed, -run.speed]) for run in runs]
    asked = askings([(run.clicks, run.temperature, pair) for run, pair in zip(runs, velocities, strict=True)])
    model = RunModel(damper, fit.knowledge.unknowns, asked)
    draws = fit.knowledge.mean
    slopes = np.hstack([model.slopes(draws), basis(np.concatenate(velocities))])
    return slopes, model.warmth(draws)


def _errors(warmth: Floats) -> Floats:
    """Covariance of the errors of one run's points."""
    warm = READ_TEMPERATURE * warmth
    return LEAST_SPREAD**2 * np.eye(warmth.size) + RUN_TO_RUN**2 + np.outer(warm, warm)


def _taken(known: Floats, slopes: Floats, errors: Floats) -> Floats:
    """What a run takes off the covariance."""
    across = known @ slopes.T
    return np.asarray(across @ np.linalg.solve(slopes @ across + errors, across.T), dtype=np.float64)


def _spread_of(asked: Floats, known: Floats) -> float:
    return math.sqrt(float(np.mean(np.einsum("ij,jk,ik->i", asked, known, asked))))


def _after(asked: Floats, known: Floats, slopes: Floats, warmth: Floats) -> tuple[float, float]:
    """Standard deviation after a run, and the stroke that tells most of it."""
    errors = _errors(warmth)
    after = _spread_of(asked, known - _taken(known, slopes, errors))
    alone = [
        _spread_of(asked, known - _taken(known, slopes[[stroke]], errors[stroke, stroke].reshape(1, 1)))
        for stroke in (0, 1)
    ]
    return after, 1.0 if alone[0] <= alone[1] else -1.0
