"""How far a predicted ride was off the one that was logged, in few figures for a record."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.errors import InputError
from optimiser.ride_log.beside import RunBeside


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictionError:
    """One wheel of one ride.

    Parameters
    ----------
    corner : the wheel.
    seconds : that log and prediction both have. [s]
    travel : root mean square of what the wheel's travel was off. [m]
    velocity : the same of shaft velocity. [m/s]
    deepest : travel of the log less that of the prediction, at the deepest. [m]
    share : the most that any band's share of time was off. [-]
    """

    corner: str
    seconds: float
    travel: float
    velocity: float
    deepest: float
    share: float


def prediction_error(found: RunBeside) -> PredictionError:
    """The figures of a log beside its prediction.

    Raises
    ------
    InputError
        When the two are not one ride in time.
    """
    both = found.in_time
    if both is None:
        raise InputError(
            f"{found.corner}: log and prediction are not one ride in time, expected them to be, to record "
            "how far one is off the other. Predict the ride that was logged."
        )
    return PredictionError(
        corner=found.corner,
        seconds=both.seconds,
        travel=both.travel_error,
        velocity=both.velocity_error,
        deepest=both.travel_used,
        share=max(abs(one.more) for one in found.shares),
    )
