"""How far a stack has to lift for its damper to give a force: equation (35).

At one velocity the flow is known, and a force fixes the pressure drop. Then the flow that is left for the
stack is known, the pressure on its face, and the gap that the flow needs. A stack that lifts further under
that pressure gives less force, one that lifts less gives more. So a single lift shows on which side of a
force a stack lies, and nothing is interpolated.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from damping_model.errors import ConvergenceError
from damping_model.flow.flow_kernel import gap_for_flow
from damping_model.flow.lift_kernel import HEAD, MOST_STEPS, PORT_LINEAR, PORT_QUADRATIC
from damping_model.flow.path_set import PathSet
from damping_model.units import BAR

LARGEST_EXCESS: Final = 3.0
"""Largest logarithm of a ratio of forces that is returned: it stands for any beyond. [-]"""


@dataclass(frozen=True, slots=True)
class Demand:
    """What a stack would have to do for a force.

    Parameters
    ----------
    pressure : on its face. [Pa]
    lift : that it would have to have there. [m]
    pressure_power, lift_power : change of the logarithm of either with the logarithm of the force. [-]
    """

    pressure: float
    lift: float
    pressure_power: float
    lift_power: float

    def excess(self, lift: float, slope: float) -> float:
        """Logarithm of a stack's force over this one.

        Its sign is what the lift at this pressure says; its size follows the lift on as a power of pressure.

        Parameters
        ----------
        lift : of the stack at this pressure. [m]
        slope : of that lift against pressure. [m/Pa]
        """
        if lift <= 0:
            return LARGEST_EXCESS
        steepness = max(slope * self.pressure / lift, 0.0) * self.pressure_power - self.lift_power
        return min(max(math.log(self.lift / lift) / steepness, -LARGEST_EXCESS), LARGEST_EXCESS)


def face_demand(
    side: PathSet, row: int, *, others: PathSet, flow: float, drop: float
) -> tuple[float, float] | float:
    """Pressure on a stack's face and lift that make a flow and a pressure drop go together. [Pa, m]

    Parameters
    ----------
    side : the stack's path and those parallel to it.
    row : of the stack.
    others : the paths parallel to it alone.
    flow : of all of them together, above 0. [m^3/s]
    drop : pressure drop over them. [Pa]

    Returns
    -------
    tuple or float
        Where no lift does it: :data:`LARGEST_EXCESS` when any stack gives more force, the negative when any
        gives less.

    Raises
    ------
    ConvergenceError
        When no lift was found, with the figures.
    """
    if drop <= 0:
        return LARGEST_EXCESS
    through = flow - others.flow(drop)[0]
    if through <= 0:
        return -LARGEST_EXCESS
    own = side.lifters[row]
    pressure = drop - through * (own[PORT_LINEAR] + (own[PORT_QUADRATIC] - own[HEAD]) * through)
    if pressure - own[HEAD] * through**2 <= 0:
        return LARGEST_EXCESS
    lift = float(gap_for_flow(own, through, pressure))
    if math.isnan(lift):
        raise ConvergenceError(
            f"no lift found for a flow of {through:g} m³/s at {pressure / BAR:.4g} bar under "
            f"'{side.names[row]}' within {MOST_STEPS} steps."
        )
    return float(pressure), lift
