"""A logged wheel before and after treatment, as values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from damping_model.vehicle.leverage import LeverageCurve

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Place = Literal["wheel", "shaft"]

CUT_OFF: Final = 50.0
"""Of the low-pass filter, where the sample rate allows it; common practice, no source. A wheel on its tyre
swings at 10 to 20 times a second. [Hz]"""

CUT_OFF_SHARE: Final = 0.4
"""Of the sample rate, that the cut-off is at most. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trace:
    """Travel of one wheel as a logger has it.

    Parameters
    ----------
    corner : the wheel's name.
    source : the file, for messages.
    time : of every sample (samples,), or None where the file has none. [s]
    travel : compression positive (samples,); nan where the logger has no figure. [m]
    at : whether the wheel's travel or the shaft's was measured.
    """

    corner: str
    source: str
    time: Floats | None
    travel: Floats
    at: Place = "wheel"

    @property
    def place(self) -> str:
        """Where it stands, for messages."""
        return f"{self.source}: {self.corner}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Treatment:
    """What a person settles of the treatment; None leaves it to the data.

    Parameters
    ----------
    sample_rate : in the place of a time column. [1/s]
    cut_off : of the low-pass filter. [Hz]
    zero : what the logger reads at full extension. [m]
    whole_ride : whether it is one, which uses a good part of the travel; a predicted event need not.
    """

    sample_rate: float | None = None
    cut_off: float | None = None
    zero: float | None = None
    whole_ride: bool = True


AS_LOGGED: Final = Treatment()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Linkage:
    """How a wheel and its shaft go together.

    Parameters
    ----------
    leverage : of the corner.
    known : whether it is a machine's; otherwise the wheel is taken to move with the shaft, over as much
        travel as the log has.
    """

    leverage: LeverageCurve
    known: bool = True


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WheelMotion:
    """What a wheel and its shaft did, at even times.

    Parameters
    ----------
    corner : the wheel's name.
    rate : samples a second. [1/s]
    cut_off : of the filter. [Hz]
    time : (samples,). [s]
    wheel_travel, shaft_travel : from full extension, filtered (samples,). [m]
    wheel_velocity, shaft_velocity : positive in compression (samples,). [m/s]
    counted : samples that count: outside gaps, and not standing still to the last digit (samples,).
    linkage : by which wheel and shaft go together.
    notes : what was derived, left out and why, in sentences.
    """

    corner: str
    rate: float
    cut_off: float
    time: Floats
    wheel_travel: Floats
    shaft_travel: Floats
    wheel_velocity: Floats
    shaft_velocity: Floats
    counted: Flags
    linkage: Linkage
    notes: tuple[str, ...]

    @property
    def travel_end(self) -> float:
        """All of the wheel's travel. [m]"""
        return self.linkage.leverage.wheel_travel_end

    @property
    def seconds(self) -> float:
        """Time that counts. [s]"""
        return float(self.counted.sum()) / self.rate

    def within(self, first: float, last: float) -> Flags:
        """Samples that count between two times (samples,). [s]"""
        return self.counted & (self.time >= first) & (self.time <= last)
