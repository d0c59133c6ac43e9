"""What was promised of a band and what a dyno measured of it, once it was built."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from optimiser.model.goal import Role

SURE: Final = 1.96
"""Standard uncertainties to either side that hold 19 in 20. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BandOutcome:
    """One band of a build, before and after; changes are logarithms of the force over the force before.

    Parameters
    ----------
    name, role : of the band.
    predicted : average change over the logarithm of velocity. [-]
    low, high : what was said to hold it 19 times in 20. [-]
    unsure : standard uncertainty of the prediction, the model's own error left out. [-]
    measured : the same change on the dyno. [-]
    uncertainty : standard uncertainty of that. [-]
    share : of the band, over the logarithm of velocity, that the runs reach. [-]
    """

    name: str
    role: Role
    predicted: float
    low: float
    high: float
    unsure: float
    measured: float
    uncertainty: float
    share: float

    @property
    def error(self) -> float:
        """Measured beyond predicted. [-]"""
        return self.measured - self.predicted

    @property
    def inside(self) -> bool:
        """Whether what was measured lies where it was said to, as far as the measurement itself is sure."""
        end = self.low if self.error < 0 else self.high
        return abs(self.error) <= math.hypot(self.predicted - end, SURE * self.uncertainty)
