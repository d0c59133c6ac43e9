"""What a stack does to one band, by one measure for all that people and programs read: mean and range."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

import numpy as np

from optimiser.model.goal import LEAST_FORCE, Window, mean_change, mean_weights

ROUNDING: Final = 1e-9
"""Share of the force by which a limit may be missed and still counts as met. [-]"""

EDGE: Final = 4e-3
"""Share of the force by which the model's own figures may be off: a limit missed by no more is at the edge.

The table that a force curve is read from and the lifts that a search asks for agree within it
(tests/damping_model/damper/test_demand.py, tests/optimiser/search/bounds/test_bounds.py). [-]
"""


class BandVerdict(Enum):
    """Whether a band does what is asked of it."""

    IN_RANGE = "in range"
    AT_THE_EDGE = "at the edge"
    """A limit is missed by less than the model's own accuracy."""

    OUT_OF_RANGE = "out of range"


FELT_SHARE: Final = 0.01
"""A limit missed by no more than this share of the force is missed by less than a rider feels; common
practice, no source. [-]"""

FELT_FORCE: Final = 2.0
"""The same for a miss of no more than this; common practice, no source. [N]"""


@dataclass(frozen=True, slots=True)
class BandResult:
    """Change of one band against the damper as it is.

    Parameters
    ----------
    mean : average change over the logarithm of velocity, as a share of the force before. [-]
    least, most : smallest and largest change at any of its velocities, with sign. [-]
    least_at, most_at : where those are, as speeds. [m/s]
    before, after : average force over the logarithm of velocity, in the sense of ``mean``. [N]
    allowed : least and most of what ``mean`` may be where an average is asked; else of the change at
        ``tightest``. [-]
    tightest : place of the velocity with the least room to its limits.
    missed_by : share of the force by which the worst limit is missed; 0 when all are met. [-]
    missed_force : the same as a force. [N]
    missed_at : speed where that is; None for the average, and where none is missed. [m/s]
    """

    mean: float
    least: float
    most: float
    least_at: float
    most_at: float
    before: float
    after: float
    allowed: tuple[float, float]
    tightest: int
    missed_by: float
    missed_force: float
    missed_at: float | None

    @property
    def verdict(self) -> BandVerdict:
        """Whether the band does what is asked."""
        if self.missed_by == 0:
            return BandVerdict.IN_RANGE
        return BandVerdict.AT_THE_EDGE if self.missed_by <= EDGE else BandVerdict.OUT_OF_RANGE

    @property
    def felt(self) -> bool:
        """Whether a limit is missed by so much that a rider may feel it."""
        return self.missed_by > FELT_SHARE and self.missed_force > FELT_FORCE


def mean_before(window: Window) -> float:
    """Average force of a band as it is, over the logarithm of velocity. [N]"""
    before = np.maximum(np.array(window.before), LEAST_FORCE)
    return float(np.exp(np.log(before) @ mean_weights(window.velocities)))


def band_result(window: Window, forces: Sequence[float]) -> BandResult:
    """Judge one band.

    Parameters
    ----------
    window : the band.
    forces : damping force at each of its velocities. [N]
    """
    after, base = np.asarray(forces, dtype=float), np.maximum(np.array(window.before), LEAST_FORCE)
    lower, upper = np.array(window.lower), np.array(window.upper)
    changes, speeds = after / base - 1, np.abs(window.velocities)
    room = np.minimum(after - lower, upper - after) / np.maximum(upper - lower, LEAST_FORCE)
    tightest = int(room.argmin())
    missed = np.maximum(lower - after, after - upper) / base
    mean = float(mean_change(window, after))
    before = mean_before(window)
    allowed = float(lower[tightest] / base[tightest] - 1), float(upper[tightest] / base[tightest] - 1)
    # of velocities that are missed alike the one where that is the largest force
    place = int(np.where(missed >= missed.max() - ROUNDING, base, 0.0).argmax())
    worst, worst_force = float(missed.max()), float(missed.max() * base[place])
    missed_at: float | None = float(speeds[place])
    if window.average is not None:
        asked = window.average
        allowed = float(np.expm1(asked.lower)), float(np.expm1(asked.upper))
        off = max(allowed[0] - float(np.expm1(mean)), float(np.expm1(mean)) - allowed[1])
        if off >= worst:
            worst, worst_force, missed_at = off, off * before, None
    return BandResult(
        mean=float(np.expm1(mean)),
        least=float(changes.min()),
        most=float(changes.max()),
        least_at=float(speeds[changes.argmin()]),
        most_at=float(speeds[changes.argmax()]),
        before=before,
        after=before * float(np.exp(mean)),
        allowed=allowed,
        tightest=tightest,
        missed_by=worst if worst > ROUNDING else 0.0,
        missed_force=worst_force if worst > ROUNDING else 0.0,
        missed_at=missed_at if worst > ROUNDING else None,
    )
