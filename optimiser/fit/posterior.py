"""Where the unknowns of a damper stand after its runs: least squares that keep to what was known before."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular
from scipy.optimize import least_squares

from damping_model.errors import ModelError
from optimiser.fit.observed import Direct
from optimiser.fit.run_model import RunModel
from optimiser.unknowns.unknown import Owner

Floats = NDArray[np.float64]

FAR_OFF: Final = 1e3
"""Residual of a damper that cannot be. [-]"""

STEP_END: Final = 1e-2
GAIN_END: Final = 1e-3
"""The search for the best ends when a step is this share of the draws, or gains this share of the sum. [-]

An interval ends where the sum has risen by about 4: what is left then is a hundredth of that.
"""

ENOUGH: Final = 0.02
"""A search that began again with slopes taken anew was the last when it gained less than this. [-]"""

ANEW: Final = 3
"""Steps between slopes that are taken anew."""

FOLLOWING: Final = 6
"""Most steps by slopes that are known already."""

FOLLOWED: Final = 0.005
"""Such steps end when one gains less of the sum of squares. [-]"""

MOST_STEPS: Final = 30


class StoppedError(Exception):
    """Somebody asked a fit to stop."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Evidence:
    """What draws of the unknowns are held against.

    Parameters
    ----------
    model : of the runs.
    logarithms : of the measured damping (points,). [ln N]
    covariance : of their errors, discrepancy and all (points, points). [-]
    over : factor that the covariance was enlarged by. [-]
    direct : figures that runs show by themselves.
    should_stop : asked before every step.
    """

    model: RunModel
    logarithms: Floats
    covariance: Floats
    over: float = 1.0
    direct: tuple[Direct, ...] = ()
    should_stop: Callable[[], bool] = lambda: False

    @property
    def lower(self) -> Floats:
        """Lower triangle whose product with its transpose is the covariance."""
        return np.asarray(np.linalg.cholesky(self.covariance), dtype=np.float64)

    def direct_rows(self) -> tuple[Floats, Floats]:
        """Slopes (direct, unknowns) and values (direct,) of direct figures, in their standard deviations."""
        rows = np.zeros((len(self.direct), len(self.model.unknowns)))
        values = np.zeros(len(self.direct))
        for row, one in enumerate(self.direct):
            for place, unknown in enumerate(self.model.unknowns):
                if unknown.owner is Owner.DAMPER and unknown.figure == one.figure:
                    rows[row, place] = unknown.uncertainty / (one.spread * math.sqrt(self.over))
                    values[row] = one.logarithm / (one.spread * math.sqrt(self.over))
        told = rows.any(axis=1)
        return rows[told], values[told]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Best:
    """The draws that fit best, and the model about them.

    Parameters
    ----------
    draws : of the unknowns (unknowns,). [-]
    logarithms : of the damping there (points,). [ln N]
    slopes : of the logarithms by the draws (points, unknowns). [-]
    total : sum of squares, priors in it. [-]
    """

    draws: Floats
    logarithms: Floats
    slopes: Floats
    total: float


class _Slopes:
    """Slopes on the way to the best: taken anew at every third step, corrected by the step between.

    C. G. Broyden, "A class of methods for solving nonlinear simultaneous equations", Math. Comp. 19 (1965)
    577-593.
    """

    def __init__(self, model: RunModel, best: Best) -> None:
        self._model, self._asked = model, 0
        self._last = best.draws, best.logarithms, best.slopes

    def at(self, draws: Floats, logarithms: Floats | None) -> Floats:
        """Change of the logarithms by the draws (points, unknowns). [-]"""
        self._asked += 1
        if logarithms is None or self._asked % ANEW == 0:
            slopes = self._model.slopes(draws)
        else:
            there, before, slopes = self._last
            step = draws - there
            along = float(step @ step)
            if along > 0:
                slopes = slopes + np.outer(logarithms - before - slopes @ step, step) / along
        if logarithms is not None:
            self._last = draws.copy(), logarithms, slopes
        return slopes


class LeastSquares:
    """Draws that fit evidence best, with some of them held.

    Parameters
    ----------
    evidence : what they are held against.
    """

    def __init__(self, evidence: Evidence) -> None:
        self.evidence, self.model = evidence, evidence.model
        self._lower = evidence.lower
        self._direct, self._direct_values = evidence.direct_rows()

    @property
    def direct_count(self) -> int:
        """Figures that runs show by themselves."""
        return self._direct_values.size

    def residuals(self, draws: Floats, logarithms: Floats) -> Floats:
        """Everything that is to be small: points, direct figures, the draws themselves. [-]"""
        off = self.whitened(self.evidence.logarithms - logarithms)
        return np.concatenate([off, self._direct_values - self._direct @ draws, draws])

    def whitened(self, rows: Floats) -> Floats:
        """Rows of points in standard deviations, independent of one another."""
        return np.asarray(solve_triangular(self._lower, rows, lower=True), dtype=np.float64)

    def design(self, slopes: Floats) -> Floats:
        """Change of the residuals by the draws."""
        return np.vstack([-self.whitened(slopes), -self._direct, np.eye(len(self.model.unknowns))])

    def best(self, start: Floats, *, held: NDArray[np.bool_] | None = None) -> Best:
        """The draws that fit best, from a start; those that are held stay there.

        Raises
        ------
        StoppedError
            When somebody asked to stop.
        """
        free = np.ones(start.size, bool) if held is None else ~held
        kept: dict[bytes, Floats] = {}

        def whole(part: Floats) -> Floats:
            draws = start.copy()
            draws[free] = part
            return draws

        def logarithms(draws: Floats) -> Floats | None:
            if self.evidence.should_stop():
                raise StoppedError
            key = draws.tobytes()
            if key not in kept:
                try:
                    kept[key] = self.model.logarithms(draws)
                except ModelError:
                    return None
            return kept[key]

        def residuals(part: Floats) -> Floats:
            draws = whole(part)
            found = logarithms(draws)
            if found is None:
                return np.full(self._lower.shape[0] + self.direct_count + draws.size, FAR_OFF)
            return self.residuals(draws, found)

        def jacobian(part: Floats) -> Floats:
            draws = whole(part)
            return self.design(slopes.at(draws, logarithms(draws)))[:, free]

        ends = self.model.ends[free]
        draws = whole(np.clip(start[free], -0.999 * ends, 0.999 * ends))
        while True:
            best = self.followed(draws, self.model.slopes(draws), held=held)
            slopes = _Slopes(self.model, best)
            found = least_squares(
                residuals,
                best.draws[free],
                jac=jacobian,
                bounds=(-ends, ends),
                method="dogbox",  # fewer steps than 'trf' as long as no bound is met, which is the rule
                xtol=STEP_END,
                ftol=GAIN_END,
                max_nfev=MOST_STEPS,
            )
            if best.total - 2 * float(found.cost) < ENOUGH:
                return self.followed(best.draws, self.model.exact_slopes(best.draws), held=held)
            draws = whole(found.x)

    def followed(
        self,
        start: Floats,
        slopes: Floats,
        *,
        held: NDArray[np.bool_] | None = None,
        gain: float = FOLLOWED,
    ) -> Best:
        """The best near a start, by slopes that are known already: each step asks the model once.

        Parameters
        ----------
        start : draws; those that are held stay there.
        slopes : change of the logarithms by the draws near them.
        held : which are held; none when left out.
        gain : it ends when a step gains less of the sum of squares. [-]

        Raises
        ------
        ModelError
            When there is no such damper at the start.
        """
        free = np.ones(start.size, bool) if held is None else ~held
        step = np.linalg.pinv(self.design(slopes)[:, free])
        ends = self.model.ends[free]
        at = self.model.logarithms(start)
        best = Best(draws=start, logarithms=at, slopes=slopes, total=self._total(start, at))
        for _ in range(FOLLOWING):
            draws = best.draws.copy()
            moved = draws[free] - step @ self.residuals(best.draws, best.logarithms)
            draws[free] = np.clip(moved, -ends, ends)
            try:
                at = self.model.logarithms(draws)
            except ModelError:
                break
            newer = Best(draws=draws, logarithms=at, slopes=slopes, total=self._total(draws, at))
            if newer.total < best.total:
                gained, best = best.total - newer.total, newer
            else:
                break
            if gained < gain:
                break
        return best

    def _total(self, draws: Floats, logarithms: Floats) -> float:
        residuals = self.residuals(draws, logarithms)
        return float(residuals @ residuals)

    def covariance(self, slopes: Floats) -> Floats:
        """Of the draws, by the slopes at the best (unknowns, unknowns). [-]"""
        design = self.design(slopes)
        found = np.linalg.inv(design.T @ design)
        return np.asarray((found + found.T) / 2, dtype=np.float64)
