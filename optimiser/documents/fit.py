"""A fit for other programs."""

from __future__ import annotations

from typing import Literal

import numpy as np

from damping_model.units import celsius
from optimiser.documents.common import Document
from optimiser.fit.discrepancy import KNOTS
from optimiser.fit.fit import Fit
from optimiser.fit.next_run import PossibleRun, RunAdvice
from optimiser.unknowns.moved_words import moved_by
from optimiser.unknowns.unknown import Owner


class FigureDocument(Document):
    """One figure after the runs."""

    words: str
    part: str
    figure: str
    label: Literal["identified", "one-sided", "flat"]
    moved: str
    """By how much it differs from the damper's file, with its unit."""
    moved_between: tuple[str, str]
    """The same at both ends of the 95 % interval."""
    deviations: float
    """The same, in standard deviations of what was known before."""
    least_deviations: float
    most_deviations: float
    """Ends of the 95 % interval."""
    plan_deviations: float
    """Where it stands in a plan's damper."""


class TogetherDocument(Document):
    """Two figures that the runs tell only together."""

    figures: tuple[str, str]
    correlation: float


class MissDocument(Document):
    """How far the computed force is off in one band: root mean square."""

    band: str
    stroke: Literal["compression", "rebound"]
    points: int
    as_written_percent: float
    fitted_percent: float
    plan_percent: float


class PointMissDocument(Document):
    """One point that was fitted to."""

    run: str
    velocity_m_s: float
    measured_n: float
    fitted_n: float
    """Damping against the motion, both."""


class DiscrepancyDocument(Document):
    """What no figure explains, at one velocity."""

    velocity_m_s: float
    percent: float
    plus_minus_percent: float
    """One standard deviation."""


class UnusedPointsDocument(Document):
    """Points that were not used."""

    run: str
    points: int
    why: str


class RunDocument(Document):
    """A run that could be made."""

    speed_m_s: float
    clicks_out: dict[str, int]
    temperature_c: float


class NextRunDocument(Document):
    """Which run to make next."""

    target: str
    run: RunDocument
    stroke: Literal["compression", "rebound"]
    """Which of its strokes tells most."""
    plus_minus_points_now: float
    plus_minus_points_after: float
    """95 % of the target's change, in points of percent."""
    check: RunDocument
    check_plus_minus_percent: float


class FitDocument(Document):
    """What ``shimwright fit --json`` prints."""

    format: Literal["shimwright fit 1"] = "shimwright fit 1"
    damper: str
    points: int
    runs: int
    holds: bool
    against: str
    sum_of_squares: float
    expected_sum: int
    chance_of_larger: float
    chance_of_pattern: float
    errors_widened_by: float
    figures: list[FigureDocument]
    told_only_together: list[TogetherDocument]
    bands: list[MissDocument]
    points_fitted: list[PointMissDocument]
    discrepancy_percent: float
    discrepancy: list[DiscrepancyDocument]
    left_out: list[UnusedPointsDocument]
    next_run: NextRunDocument | None
    written: str | None
    picture: str | None


def fit_document(
    fit: Fit,
    *,
    against: str,
    advice: tuple[RunAdvice, str] | None,
    written: str | None,
    picture: str | None,
) -> FitDocument:
    """The documented keys of ``shimwright fit --json``."""
    verdict = fit.verdict
    return FitDocument(
        damper=fit.damper,
        points=fit.sample.velocities.size,
        runs=len(fit.sample.stretches),
        holds=verdict.holds,
        against=against,
        sum_of_squares=round(verdict.total, 3),
        expected_sum=verdict.points,
        chance_of_larger=round(verdict.by_chance, 6),
        chance_of_pattern=round(verdict.patterned, 6),
        errors_widened_by=round(verdict.widened, 4),
        figures=[_figure(fit, number) for number in range(len(fit.estimates))],
        told_only_together=[
            TogetherDocument(
                figures=(
                    fit.estimates[pair.first].unknown.words,
                    fit.estimates[pair.second].unknown.words,
                ),
                correlation=round(pair.correlation, 4),
            )
            for pair in fit.together()
        ],
        bands=[
            MissDocument(
                band=miss.band,
                stroke="compression" if miss.sign > 0 else "rebound",
                points=miss.points,
                as_written_percent=_percent(miss.typed),
                fitted_percent=_percent(miss.fitted),
                plan_percent=_percent(miss.plan),
            )
            for miss in fit.misses()
        ],
        points_fitted=_points(fit),
        discrepancy_percent=_percent(fit.discrepancy.size),
        discrepancy=_discrepancy(fit),
        left_out=[
            UnusedPointsDocument(run=one.run, points=one.points, why=one.why) for one in fit.sample.left_out
        ],
        next_run=None if advice is None else _next(*advice),
        written=written,
        picture=picture,
    )


def _figure(fit: Fit, number: int) -> FigureDocument:
    estimate = fit.estimates[number]
    unknown = estimate.unknown
    return FigureDocument(
        words=unknown.words,
        part=unknown.owner.value if isinstance(unknown.owner, Owner) else unknown.owner,
        figure=unknown.figure,
        label=estimate.label.value,
        moved=moved_by(unknown, estimate.draw),
        moved_between=(moved_by(unknown, estimate.low), moved_by(unknown, estimate.high)),
        deviations=round(estimate.draw, 4),
        least_deviations=round(estimate.low, 4),
        most_deviations=round(estimate.high, 4),
        plan_deviations=round(float(fit.for_plans[number]), 4),
    )


def _points(fit: Fit) -> list[PointMissDocument]:
    names = [stretch.run.name for stretch in fit.sample.stretches for _ in stretch.points]
    measured = [force for stretch in fit.sample.stretches for force in stretch.damping]
    return [
        PointMissDocument(
            run=name,
            velocity_m_s=round(float(velocity), 5),
            measured_n=round(float(force), 3),
            fitted_n=round(float(force * np.exp(-off)), 3),
        )
        for name, velocity, force, off in zip(
            names, fit.sample.velocities, measured, fit.sample.logarithms - fit.logarithms, strict=True
        )
    ]


def _discrepancy(fit: Fit) -> list[DiscrepancyDocument]:
    velocities = [*KNOTS, *(-knot for knot in KNOTS)]
    return [
        DiscrepancyDocument(
            velocity_m_s=velocity, percent=_percent(float(size)), plus_minus_percent=_percent(float(spread))
        )
        for velocity, size, spread in zip(
            velocities, fit.discrepancy.knots, fit.discrepancy.spread, strict=True
        )
    ]


def _next(advice: RunAdvice, target: str) -> NextRunDocument:
    best = advice.best
    return NextRunDocument(
        target=target,
        run=_run(best.run),
        stroke="compression" if best.stroke > 0 else "rebound",
        plus_minus_points_now=round(196 * best.before, 3),
        plus_minus_points_after=round(196 * best.after, 3),
        check=_run(advice.check),
        check_plus_minus_percent=round(196 * advice.check_spread, 3),
    )


def _run(run: PossibleRun) -> RunDocument:
    return RunDocument(
        speed_m_s=run.speed,
        clicks_out=dict(run.clicks),
        temperature_c=round(celsius(kelvin=run.temperature), 2),
    )


def _percent(share: float) -> float:
    return round(100 * share, 3)
