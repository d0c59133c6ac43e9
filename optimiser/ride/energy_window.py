"""Where on the force curve an event takes place: shaft velocities and travel that carry its energy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.ride.ride_motion import RideMotion
from optimiser.intake.bands import SIGN, Stroke
from optimiser.ride.as_ridden import AsRidden
from optimiser.ride.ridden import RiddenEvent

Floats = NDArray[np.float64]

TAILS: Final = 0.15
"""Share of the energy that is left out at either end; common practice, no source. [-]"""


@dataclass(frozen=True, slots=True)
class EnergyWindow:
    """Shaft velocities and travel in which a damper takes most of its work in one stroke of an event.

    Parameters
    ----------
    event : its name.
    stroke : which stroke.
    low, high : shaft velocity, both positive. [m/s]
    from_travel, to_travel : wheel travel. [m]
    energy : that the damper takes in the stroke. [J]
    share : of it that lies in the window by velocity. [-]
    """

    event: str
    stroke: Stroke
    low: float
    high: float
    from_travel: float
    to_travel: float
    energy: float
    share: float = 1 - 2 * TAILS

    def overlaps(self, low: float, high: float) -> bool:
        """Whether it shares a velocity with a band [m/s]."""
        return self.low <= high and low <= self.high


def energy_window(
    motion: RideMotion, ready: RiddenEvent, on: AsRidden, *, stroke: Stroke
) -> EnergyWindow | None:
    """The velocities that carry the middle of a stroke's energy, seven tenths of it.

    Parameters
    ----------
    motion : the ride.
    ready : the event.
    on : the machine.
    stroke : that is asked about.

    Returns
    -------
    EnergyWindow or None
        None where the damper takes nothing in that stroke.

    Notes
    -----
    With power :math:`P = F v` the energy below a velocity is the integral of :math:`P` over the times at
    which the shaft is slower; the window leaves out the same share of the whole at either end.
    """
    own = on.own
    speed = SIGN[stroke] * motion.shaft_velocity(own)
    power = motion.damper_force(own) * motion.wheel_velocity(own)
    inside = (speed > 0) & (motion.times >= (ready.ends if ready.start.fall is not None else 0.0))
    step = float(motion.times[1] - motion.times[0])
    energy = step * float(power[inside].sum())
    if energy <= 0:
        return None
    low, high = _middle(speed[inside], power[inside])
    shallow, deep = _middle(motion.travel(own)[inside], power[inside])
    return EnergyWindow(ready.event.name, stroke, low, high, shallow, deep, energy)


def _middle(values: Floats, weights: Floats) -> tuple[float, float]:
    """Values between which all but the tails of the weights lie."""
    order = np.argsort(values)
    below = np.cumsum(weights[order]) / weights.sum()
    ends = np.searchsorted(below, [TAILS, 1 - TAILS])
    low, high = values[order][np.minimum(ends, values.size - 1)]
    return float(low), float(high)
