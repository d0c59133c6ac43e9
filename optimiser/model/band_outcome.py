"""What was promised of a band and what a dyno measured of it, once it was built."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.model.goal import Role


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
        """Whether what was measured lies where it was said to."""
        return self.low <= self.measured <= self.high
