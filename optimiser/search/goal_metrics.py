"""Figures of a goal, worked out once: windows at each velocity, averages over bands, distances from both.

An average is linear in the logarithms of the forces, so bounds of the forces bound it, and a family is pruned
by it as by a window: by forces that make up the limit of the average.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.model import rank
from optimiser.model.goal import LEAST_FORCE, Goal, Role

Floats = NDArray[np.float64]
Windows = tuple[Floats, Floats]
"""Least and most force at each velocity. [N]"""

LEAST_WIDTH: Final = 1e-6
"""Windows narrower than this, as a share of the force, are taken to be as wide. [-]"""

ROUNDING: Final = 1e-9
"""Bounds have to pass the limit of an average by this, so that rounding leaves no family open. [-]"""


@dataclass(frozen=True, slots=True)
class Limits:
    """What forces have to keep to: at each velocity, and on average over some bands.

    Parameters
    ----------
    lower, upper : least and most force at each velocity (velocities,). [N]
    least, most : least and most mean logarithm of force of each averaged band (averages,). [-]
    """

    lower: Floats
    upper: Floats
    least: Floats
    most: Floats


class GoalMetrics:
    """Figures of a goal, worked out once.

    Parameters
    ----------
    goal : what is asked.

    Attributes
    ----------
    half_width : half the width of each window (velocities,). [N]
    relative_half_width : the same as a share of the desired force; half the width of the average where one is
        asked. [-]
    target : which velocities belong to a target that is judged at each velocity (velocities,).
    least, desired_mean, most : least, wanted and most mean logarithm of force of each averaged band
        (averages,). [-]
    mean_half_width : half the width of each average (averages,). [-]
    """

    def __init__(self, goal: Goal) -> None:
        self.goal = goal
        self.lower, self.upper, self.desired = goal.lower, goal.upper, goal.desired
        self.half_width = rank.half_widths(goal)
        self.relative_half_width = self.half_width / np.maximum(np.abs(self.desired), LEAST_FORCE)
        self.target = rank.role_mask(goal, Role.TARGET)
        self._parts = [(part, weights) for part, weights, _ in goal.averages]
        before = np.log(np.maximum(goal.before, LEAST_FORCE))
        base = np.array([weights @ before[part] for part, weights in self._parts])
        averages = [average for *_, average in goal.averages]
        self.least = base + np.array([average.lower for average in averages])
        self.desired_mean = base + np.array([average.desired for average in averages])
        self.most = base + np.array([average.upper for average in averages])
        self.mean_half_width = np.maximum((self.most - self.least) / 2, rank.LEAST_WIDTH)
        self._targeted = np.array([self.target[part.start] for part, _ in self._parts], dtype=bool)
        for (part, _), half in zip(self._parts, self.mean_half_width, strict=True):
            self.relative_half_width[part] = half
            self.target[part] = False
        self._scale = np.maximum(np.abs(self.desired[self.target]), LEAST_FORCE)
        self._limits = Limits(self.lower, self.upper, self.least, self.most)
        least = np.log(np.maximum(self.lower, LEAST_FORCE))
        most = np.log(np.maximum(self.upper, LEAST_FORCE))
        self._middle = np.append((least + most) / 2, (self.least + self.most) / 2)
        self._half = np.append(np.maximum(most - least, LEAST_WIDTH) / 2, self.mean_half_width)
        self._narrowed: tuple[float, Limits] | None = None

    @property
    def averaged(self) -> list[slice]:
        """Places of the bands of which an average is asked."""
        return [part for part, _ in self._parts]

    @property
    def weights(self) -> Floats:
        """Weights of the averages; 0 at velocities outside averaged bands (velocities,). [-]"""
        found = np.zeros(self.lower.size)
        for part, weights in self._parts:
            found[part] = weights
        return found

    def means(self, logs: Floats) -> Floats:
        """Mean of the logarithms of force over each averaged band (..., averages). [-]"""
        columns = [logs[..., part] @ weights for part, weights in self._parts]
        return np.stack(columns, axis=-1) if columns else np.zeros((*logs.shape[:-1], 0))

    def off_middle(self, logs: Floats) -> Floats:
        """How far logarithms of force (rows, velocities) lie from the middle of windows and averages (rows,).

        At the worst of them, in half-widths; 0 in the middle, 1 at an edge. [-]
        """
        rows = np.concatenate([logs, self.means(logs)], axis=1)
        return np.asarray((np.abs(rows - self._middle) / self._half).max(axis=1))

    def misfit(self, forces: Floats) -> float:
        """Distance from the windows at the worst velocity or average, in half-widths; 0 inside. [-]"""
        outside = np.maximum(self.lower - forces, forces - self.upper) / self.half_width
        worst = float(np.max(np.maximum(outside, 0.0), initial=0.0))
        if self._parts:
            means = self.means(np.log(np.maximum(forces, LEAST_FORCE)))
            beyond = np.maximum(self.least - means, means - self.most) / self.mean_half_width
            worst = max(worst, float(beyond.max()))
        return worst

    def target_error(self, forces: Floats) -> float:
        """Distance of the forces from the target. [-]"""
        worst = float(np.max(np.abs(forces - self.desired)[self.target] / self._scale, initial=0.0))
        if self._parts:
            means = self.means(np.log(np.maximum(forces, LEAST_FORCE)))
            worst = max(worst, float(np.max(np.abs(means - self.desired_mean)[self._targeted], initial=0.0)))
        return worst

    def limits_within(self, error: float) -> Limits:
        """The limits, narrowed to a distance from the target."""
        if error == np.inf:
            return self._limits
        if self._narrowed is None or self._narrowed[0] != error:
            lower, upper = self.lower.copy(), self.upper.copy()
            room = error * self._scale
            lower[self.target] = np.maximum(lower[self.target], self.desired[self.target] - room)
            upper[self.target] = np.minimum(upper[self.target], self.desired[self.target] + room)
            near = np.where(self._targeted, error, np.inf)
            least = np.maximum(self.least, self.desired_mean - near)
            most = np.minimum(self.most, self.desired_mean + near)
            self._narrowed = error, Limits(lower, upper, least, most)
        return self._narrowed[1]

    def limits_widened(self, misfit: float) -> Limits:
        """The limits, widened by so many of their half-widths."""
        wide, apart = misfit * self.half_width, misfit * self.mean_half_width
        return Limits(self.lower - wide, self.upper + wide, self.least - apart, self.most + apart)

    def surely_outside(self, low: Floats, high: Floats, limits: Limits) -> bool:
        """Whether forces above ``low`` and below ``high`` surely miss one of the limits."""
        if surely_outside(low, high, (limits.lower, limits.upper)):
            return True
        for k, (part, weights) in enumerate(self._parts):
            if (low[part] > 0).all() and weights @ np.log(low[part]) >= limits.most[k]:
                return True
            known = np.isfinite(high[part]).all()
            if known and weights @ np.log(np.maximum(high[part], LEAST_FORCE)) <= limits.least[k]:
                return True
        return False

    def thresholds(self, limits: Limits, soft: Floats, stiff: Floats, low: Floats, high: Floats) -> Windows:
        """Forces that a family has to stay below, or above, at each velocity to miss the limits. [N]

        Where an average is asked they make up its limit together: bounds that are known already, and for the
        rest forces in proportion to the estimate.

        Parameters
        ----------
        limits : to be missed.
        soft, stiff : estimates for the softest and the stiffest member. [N]
        low, high : bounds of the members' forces. [N]
        """
        if not self._parts:
            return limits.lower, limits.upper
        lower, upper = limits.lower.copy(), limits.upper.copy()
        with np.errstate(divide="ignore"):
            estimates = np.log(np.maximum(soft, 0.0)), np.log(stiff)
            bounds = np.log(np.maximum(low, 0.0)), np.log(high)
        for k, (part, weights) in enumerate(self._parts):
            above = _profile(estimates[0][part], bounds[0][part], weights, float(limits.most[k]), side=1)
            below = _profile(estimates[1][part], bounds[1][part], weights, float(limits.least[k]), side=-1)
            if above is not None:
                upper[part] = np.minimum(upper[part], np.exp(above))
            if below is not None:
                lower[part] = np.maximum(lower[part], np.exp(below))
        return lower, upper


def surely_outside(low: Floats, high: Floats, windows: Windows) -> bool:
    """Whether forces above ``low`` and below ``high`` surely miss one of the windows."""
    lower, upper = windows
    return bool(np.count_nonzero((high <= lower) | (low >= upper)))


def _profile(estimate: Floats, bound: Floats, weights: Floats, limit: float, *, side: int) -> Floats | None:
    """Logarithms of force whose mean passes a limit; None where nothing is known of the estimate.

    Bounds that lie beyond the profile already stay as they are; the rest follows the estimate. ``side`` is 1
    where forces lie above their bounds, -1 where they lie below.
    """
    if not np.isfinite(estimate).all():
        return None
    limit += side * ROUNDING
    fixed = np.zeros(estimate.size, np.bool_)
    profile = estimate
    while not fixed.all():
        rest = limit - float(weights[fixed] @ bound[fixed]) - float(weights[~fixed] @ estimate[~fixed])
        profile = np.where(fixed, bound, estimate + rest / float(weights[~fixed].sum()))
        beyond = ~fixed & (side * (bound - profile) >= 0)
        if not beyond.any():
            break
        fixed |= beyond
    return np.asarray(profile)
