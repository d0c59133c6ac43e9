"""A stack as it stands at one speed of the shaft: the pressure that its damper puts on it, and its lift."""

from __future__ import annotations

import numpy as np

from damping_model.damper.damper import Damper
from damping_model.stack.steel import SpringSteel
from optimiser.documents.lift import StackLift, lift_of
from optimiser.model.damper_physics import DamperPhysics


def lift_at_speed(damper: Damper, stack: str, *, speed: float) -> StackLift | None:
    """Lift a stack as far as a speed of the shaft does, in the stroke whose oil lifts it.

    Parameters
    ----------
    damper : with its clickers as they stand, and oil as warm as its description says.
    stack : by name.
    speed : of the shaft, above 0. [m/s]

    Returns
    -------
    StackLift or None
        None where no oil lifts the stack.

    Raises
    ------
    ModelError
        When the damper cannot be computed.
    """
    path = damper.stack_path(stack)
    found = []
    for velocity in (speed, -speed):
        physics = DamperPhysics(
            damper, stack_name=stack, velocities=np.array([velocity]), temperature=None, steel=SpringSteel()
        )
        stress = physics.worst_stress(path.stack, physics.setting)
        if stress is not None:
            found.append(stress.pressure)
    return lift_of(path, highest=max(found), friction=0.0) if found else None
