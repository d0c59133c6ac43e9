"""How surely builds keep a goal: intervals of bands, the chance that all limits hold, what it rests on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.model.goal import Goal
from optimiser.spread.drawn_forces import Built, DrawnForces
from optimiser.spread.drawn_swap import DrawnSwap
from optimiser.spread.limits import BandLimits, band_limits
from optimiser.spread.model_uncertainty import ModelUncertainty
from optimiser.unknowns.unknown import Unknown

Floats = NDArray[np.float64]

DRAWS: Final = 2048
"""Drawn dampers of one sample. [-]"""

TAIL: Final = 0.025
"""Share of the draws beyond either end of an interval: it holds 19 in 20. [-]"""

NAMED: Final = 3
"""Figures that are named, those that carry most of the spread. [-]"""

LEAST_NAMED: Final = 0.05
"""Share of the spread below which a figure is not named. [-]"""

SELDOM_MISSED: Final = 0.99
"""A band that is kept more often than this is not the one to make surer. [-]"""

LEAST_VARIANCE: Final = 1e-16
"""Of a band that does not move at all, whatever is drawn. [-]"""

LEAST_SURE: Final = 1.5
"""An interval at one velocity is called wide when it is so many times the narrowest of its band, [-]"""

LEAST_WIDTH: Final = 0.02
"""and wider than this. [-]"""


@dataclass(frozen=True, slots=True)
class LeastSure:
    """A place in a band where the change is far less sure than elsewhere in it.

    Parameters
    ----------
    speed : where. [m/s]
    low, high : change there, 19 in 20. [-]
    surest : where it is surest. [m/s]
    at_surest : the change there, likewise. [-]
    """

    speed: float
    low: float
    high: float
    surest: float
    at_surest: tuple[float, float]

    @property
    def by_itself(self) -> bool:
        """Whether the change is less sure there as a share of itself too, not only because it is larger."""
        first, last = self.at_surest
        own, other = (self.high - self.low) * abs(first + last), (last - first) * abs(self.high + self.low)
        return own > LEAST_SURE * other


@dataclass(frozen=True, slots=True)
class BandSpread:
    """How surely one band does what is asked.

    Parameters
    ----------
    name : of the band.
    low, high : its average change, 19 in 20. [-]
    kept : share of the draws in which its limits hold. [-]
    missed_by : where they do not, by what share of the force in half of the draws; 0 where they always hold.
    least_sure : the place in it that is least sure; None where all are as sure. [-]
    """

    name: str
    low: float
    high: float
    kept: float
    missed_by: float
    least_sure: LeastSure | None


@dataclass(frozen=True, slots=True)
class Carrier:
    """A figure that carries a part of the spread.

    Parameters
    ----------
    unknown : the figure; None for the model itself.
    share : of the variance. [-]
    """

    unknown: Unknown | None
    share: float


@dataclass(frozen=True, slots=True)
class Spread:
    """How surely one build keeps a goal.

    Parameters
    ----------
    built : what is built.
    chance : share of the drawn dampers in which all limits hold at once. [-]
    draws : how many dampers were drawn.
    bands : each band of the goal.
    carriers : figures that carry most of the spread of ``carried``, the largest share first.
    carried : the band that they are said of: the one most often missed, or the first where none is often.
    """

    built: Built
    chance: float
    draws: int
    bands: tuple[BandSpread, ...]
    carriers: tuple[Carrier, ...]
    carried: str

    @property
    def most_missed(self) -> BandSpread | None:
        """The band that fails most; None where all limits hold in every draw."""
        worst = min(self.bands, key=lambda one: one.kept)
        return worst if worst.kept < 1 else None


def spreads(
    forces: DrawnForces | DrawnSwap,
    goal: Goal,
    *,
    present: Built,
    builds: Sequence[Built],
    model_uncertainty: ModelUncertainty,
    seed: int,
    draws: int = DRAWS,
    tell: Callable[[int], None] = lambda _: None,
) -> tuple[Spread, ...]:
    """How surely each build keeps a goal: the same drawn dampers for all of them, as they are and changed.

    Parameters
    ----------
    forces : of the drawn dampers, at the goal's velocities.
    goal : its limits; every drawn damper has them as changes against its own forces before.
    present : the damper as it is.
    builds : what may be built.
    model_uncertainty : of the change.
    seed : of the sample; what was chosen on one sample is stated on another.
    draws : how many dampers are drawn.
    tell : is told how many stacks are done, and may raise to end the work.

    Raises
    ------
    ModelError
        When the damper cannot be computed with every figure where it most likely is.
    """
    rng = np.random.default_rng(seed)
    directions = forces.directions
    steps = directions.sample(draws, rng, further=model_uncertainty.draws)
    own, normal = steps[:, : len(directions)], steps[:, len(directions) :]
    velocities = goal.velocities
    factors = model_uncertainty.factors(velocities, normal)
    logs = forces.logs(own, [present, *builds], tell=tell)
    changes = (logs[:, 1:] - logs[:, :1]) * factors[:, None]
    limits = band_limits(goal)
    return tuple(
        _spread(build, changes[:, place], limits, velocities, steps, directions.moved_most)
        for place, build in enumerate(builds)
    )


def _spread(
    build: Built,
    changes: Floats,
    limits: Sequence[BandLimits],
    velocities: Floats,
    steps: Floats,
    unknown_of: Sequence[Unknown],
) -> Spread:
    missed = np.array([one.missed_by(changes) for one in limits])
    bands = tuple(_band(one, changes, off, velocities) for one, off in zip(limits, missed, strict=True))
    most = int(np.argmin([one.kept for one in bands]))
    if bands[most].kept > SELDOM_MISSED:
        most = 0
    return Spread(
        built=build,
        chance=float((missed == 0).all(axis=0).mean()),
        draws=changes.shape[0],
        bands=bands,
        carriers=_carriers(limits[most].means(changes), steps, unknown_of),
        carried=bands[most].name,
    )


def _band(limits: BandLimits, changes: Floats, missed: Floats, velocities: Floats) -> BandSpread:
    low, high = _interval(limits.means(changes))
    lows, highs = _interval(changes[:, limits.part])
    speeds = np.abs(velocities[limits.part])
    wide, sure = int((highs - lows).argmax()), int((highs - lows).argmin())
    width, narrow = highs[wide] - lows[wide], highs[sure] - lows[sure]
    least_sure = None
    if width > LEAST_SURE * narrow and width > LEAST_WIDTH:
        least_sure = LeastSure(
            float(speeds[wide]),
            float(lows[wide]),
            float(highs[wide]),
            float(speeds[sure]),
            (float(lows[sure]), float(highs[sure])),
        )
    off = missed[missed > 0]
    return BandSpread(
        limits.window.name,
        float(low),
        float(high),
        kept=float((missed == 0).mean()),
        missed_by=float(np.median(off)) if off.size else 0.0,
        least_sure=least_sure,
    )


def _interval(changes: Floats) -> tuple[Floats, Floats]:
    """Ends of the interval that holds 19 in 20, as shares of the force before."""
    low, high = np.expm1(np.quantile(changes, [TAIL, 1 - TAIL], axis=0))
    return low, high


def _carriers(means: Floats, steps: Floats, unknown_of: Sequence[Unknown]) -> tuple[Carrier, ...]:
    """Figures by the share of the variance that goes with them in a straight line."""
    variance = float(means.var())
    if variance < LEAST_VARIANCE:
        return ()
    slopes = (means - means.mean()) @ (steps - steps.mean(axis=0)) / means.size
    shares = slopes**2 / variance
    found = [Carrier(one, float(share)) for one, share in zip(unknown_of, shares, strict=False)]
    found.append(Carrier(None, float(shares[len(unknown_of) :].sum())))
    named = sorted((one for one in found if one.share > LEAST_NAMED), key=lambda one: -one.share)
    return tuple(named[:NAMED])
