"""The same damper at several oil temperatures, or at several positions of a clicker."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.curve import ForceCurve
from damping_model.damper.damper import NO_CLICKS, Damper
from damping_model.damper.force import force_curve
from damping_model.stack.steel import SpringSteel


def over_temperatures(
    damper: Damper,
    *,
    velocities: NDArray[np.float64] | Sequence[float],
    temperatures: Sequence[float],
    clicks: Mapping[str, int] = NO_CLICKS,
    steel: SpringSteel | None = None,
) -> tuple[ForceCurve, ...]:
    """A force curve for each oil temperature [K]; see :func:`damping_model.damper.force.force_curve`."""
    return tuple(
        force_curve(damper, velocities=velocities, temperature=temperature, clicks=clicks, steel=steel)
        for temperature in temperatures
    )


def over_clicks(
    damper: Damper,
    *,
    velocities: NDArray[np.float64] | Sequence[float],
    clicker: str,
    positions: Sequence[int] | None = None,
    temperature: float | None = None,
    clicks: Mapping[str, int] = NO_CLICKS,
    steel: SpringSteel | None = None,
) -> tuple[ForceCurve, ...]:
    """A force curve for each position of a clicker, all of them unless some are asked for.

    Parameters
    ----------
    damper : chambers, valves and oil.
    velocities : of the shaft, positive in compression. [m/s]
    clicker : name of the adjuster that moves.
    positions : clicks out.
    temperature : of the oil; the damper's own unless given. [K]
    clicks : positions of other clickers.
    steel : of the shims.

    Raises
    ------
    GeometryError
        When the damper has no such clicker, with the nearest known name.
    """
    asked = range(len(damper.clicker(clicker).areas)) if positions is None else positions
    return tuple(
        force_curve(
            damper,
            velocities=velocities,
            temperature=temperature,
            clicks={**clicks, clicker: position},
            steel=steel,
        )
        for position in asked
    )
