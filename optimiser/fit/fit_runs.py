"""From a damper's description and its runs to its figures: the fit from end to end."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.dyno.run import DynoRun
from optimiser.errors import InputError
from optimiser.fit.discrepancy import USUAL, Discrepancy, basis, size_of, surest
from optimiser.fit.fit import Fit
from optimiser.fit.observed import Sample
from optimiser.fit.posterior import Best, Evidence, LeastSquares
from optimiser.fit.profile import Estimate, FigureLabel, Profile
from optimiser.fit.run_model import RunModel, of_sample
from optimiser.fit.sample import sample_of
from optimiser.fit.verdict import FitVerdict, chance_of, sign_changes_seldom
from optimiser.model.damper_description import DamperDescription
from optimiser.unknowns.damper_unknowns import FRICTION_BETWEEN_SHIMS, damper_unknowns
from optimiser.unknowns.knowledge import Knowledge
from optimiser.unknowns.unknown import Owner, Unknown

Floats = NDArray[np.float64]

ROUNDS: Final = 3
"""Most fits in which the size of the discrepancy settles."""

SETTLED: Final = 0.05
"""It has settled when it moves by less than this share. [-]"""


def told_by_runs(described: DamperDescription) -> tuple[Unknown, ...]:
    """The unknown figures of a damper that a run can tell something of.

    The temperature of a ride is none of the dyno's, shims on the shelf are not in the damper, and at a peak
    of velocity friction between shims is what a stiffer steel would be.
    """
    return tuple(
        unknown
        for unknown in damper_unknowns(described)
        if (unknown.owner, unknown.figure) != (Owner.DAMPER, "temperature")
        and unknown.figure != FRICTION_BETWEEN_SHIMS
    )


def stays_nominal(unknown: Unknown) -> bool:
    """Whether a figure stays as it is written in a plan's damper: the steel, which all shims share."""
    return unknown.owner is Owner.STEEL


def fit_runs(
    described: DamperDescription,
    runs: Sequence[DynoRun],
    *,
    say: Callable[[str], None] = lambda _: None,
    should_stop: Callable[[], bool] = lambda: False,
) -> Fit:
    """Fit a damper's unknown figures to runs on a dyno.

    Parameters
    ----------
    described : the damper as its file describes it, with the stacks that it had on the dyno.
    runs : of it.
    say : shows how far the work has come, in words.
    should_stop : asked before every step.

    Raises
    ------
    InputError
        When the runs have too few points, or name what the damper does not have.
    ModelError
        When the damper cannot be computed as its file describes it.
    StoppedError
        When somebody asked to stop.
    """
    if not runs:
        raise InputError("got no runs to fit to, expected at least one.")
    damper = described.damper
    sample = sample_of(damper, runs)
    model = RunModel(damper, told_by_runs(described), of_sample(damper, sample))
    say(
        f"{len(sample.logarithms)} points of {len(runs)} runs, {len(model.unknowns)} figures: "
        "looking for the best"
    )
    squares, best, size, noise = _best(model, sample, should_stop)
    profile = Profile(squares, best, points=_points(squares, sample))
    found: list[Estimate] = []
    for place, unknown in enumerate(model.unknowns):
        say(f"How far each figure may be off: {unknown.words} ({place + 1} of {len(model.unknowns)})")
        found.append(profile.estimate(place))
    flat = np.array([estimate.label is FigureLabel.FLAT for estimate in found])
    say("The figures that a plan is to use")
    told = _with_flat_held(squares, best, flat, profile.rise)
    nominal = np.array([stays_nominal(unknown) for unknown in model.unknowns])
    held = flat & (told.draws == 0) | nominal
    for_plans = squares.best(np.where(held, 0.0, told.draws), held=held)
    return _fit(described, sample, squares, (told, for_plans), found, profile.covariance, size, noise)


def _best(
    model: RunModel, sample: Sample, should_stop: Callable[[], bool]
) -> tuple[LeastSquares, Best, float, Floats]:
    """The best draws, with a discrepancy and errors of the size that the runs ask for.

    Beside them the size of the discrepancy, and the covariance of the errors without it.
    """
    shapes, size = basis(sample.velocities), USUAL
    draws = np.zeros(len(model.unknowns))
    best: Best | None = None
    for _ in range(ROUNDS):
        noise = sample.covariance(model.warmth(draws))
        squares = _squares(model, sample, (noise, size), 1.0, should_stop)
        best = squares.best(draws) if best is None else squares.followed(draws, best.slopes)
        draws = best.draws
        before, size = size, size_of(
            sample.logarithms - best.logarithms + best.slopes @ draws,
            slopes=best.slopes,
            noise=noise,
            shapes=shapes,
        )  # fmt: skip
        if abs(size - before) < SETTLED * before:
            break
    assert best is not None  # noqa: S101 (there is a round)
    noise = sample.covariance(model.warmth(draws))
    squares = _squares(model, sample, (noise, size), 1.0, should_stop)
    best = squares.followed(draws, best.slopes)
    over = best.total / _points(squares, sample)
    if over > 1:
        squares = _squares(model, sample, (noise, size), over, should_stop)
        best = squares.followed(best.draws, best.slopes)
    return squares, best, size, squares.evidence.over * noise


def _squares(
    model: RunModel,
    sample: Sample,
    errors: tuple[Floats, float],
    over: float,
    should_stop: Callable[[], bool],
) -> LeastSquares:
    """Least squares with errors of a covariance and a discrepancy of a size, all enlarged by a factor."""
    noise, size = errors
    shapes = basis(sample.velocities)
    return LeastSquares(
        Evidence(
            model=model,
            logarithms=sample.logarithms,
            covariance=over * (noise + size**2 * shapes @ shapes.T),
            over=over,
            direct=sample.direct,
            should_stop=should_stop,
        )
    )


def _points(squares: LeastSquares, sample: Sample) -> int:
    """Points that are fitted to, with figures that runs show by themselves; a prior is one and frees one."""
    return len(sample.logarithms) + squares.direct_count


def _with_flat_held(squares: LeastSquares, best: Best, flat: NDArray[np.bool_], rise: float) -> Best:
    """The best with flat figures as they are written; as many are let go as the runs would miss them all."""
    held = flat.copy()
    while True:
        found = squares.followed(np.where(held, 0.0, best.draws), best.slopes, held=held)
        if found.total - best.total < rise or not held.any():
            return found
        held[int(np.where(held, np.abs(best.draws), -1.0).argmax())] = False


def _fit(
    described: DamperDescription,
    sample: Sample,
    squares: LeastSquares,
    bests: tuple[Best, Best],
    estimates: Sequence[Estimate],
    covariance: Floats,
    size: float,
    noise: Floats,
) -> Fit:
    told, for_plans = bests
    over = squares.evidence.over
    residual = sample.logarithms - told.logarithms
    discrepancy, misses, own = _split(sample, residual, told.slopes, noise, size)
    order = np.lexsort((np.abs(sample.velocities), np.sign(sample.velocities)))
    points = _points(squares, sample)
    total = over * (told.total - float(told.draws @ told.draws)) + float(told.draws @ told.draws)
    return Fit(
        damper=described.name,
        sample=sample,
        estimates=tuple(
            Estimate(unknown=one.unknown, draw=float(draw), low=one.low, high=one.high, label=one.label)
            for one, draw in zip(estimates, told.draws, strict=True)
        ),
        knowledge=Knowledge(unknowns=squares.model.unknowns, mean=told.draws, covariance=covariance),
        for_plans=for_plans.draws,
        logarithms=told.logarithms,
        plan_logarithms=for_plans.logarithms,
        typed_logarithms=squares.model.logarithms(np.zeros(told.draws.size)),
        slopes=told.slopes,
        discrepancy=discrepancy,
        noise=noise,
        verdict=FitVerdict(
            total=total,
            points=points,
            by_chance=chance_of(total, points),
            patterned=sign_changes_seldom(own[order]),
            misses=misses,
        ),
    )


def _split(
    sample: Sample, residual: Floats, slopes: Floats, noise: Floats, size: float
) -> tuple[Discrepancy, tuple[float, float], Floats]:
    """What of the residuals is smooth discrepancy, where that is surest, what is each point's own error."""
    shapes = basis(sample.velocities)
    whole = noise + size**2 * shapes @ shapes.T
    pulled = np.linalg.solve(whole, residual)
    with_figures = whole + slopes @ slopes.T
    left = size**2 * np.eye(shapes.shape[1]) - size**4 * shapes.T @ np.linalg.solve(with_figures, shapes)
    knots = size**2 * shapes.T @ pulled
    own = np.concatenate([stretch.spread for stretch in sample.stretches]) ** 2 * pulled
    found = Discrepancy(size=size, knots=knots, spread=np.sqrt(np.maximum(np.diag(left), 0.0)))
    return found, surest(sample.velocities, knots=knots, covariance=left), own
