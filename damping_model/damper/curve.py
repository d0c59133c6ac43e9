"""What a tuner reads: force against shaft velocity, and where it comes from."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.boiling import Boiling

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ForceCurve:
    """Steady force of a damper against shaft velocity, and where it comes from.

    Compression is positive: a positive velocity shortens the damper, a positive force resists that.

    Parameters
    ----------
    velocities : of the shaft (velocities,). [m/s]
    damping_force : of the oil alone (velocities,). [N]
    gas_force : push of the gas on the shaft, the same at every velocity. [N]
    friction_force : drag of seals and bushings (velocities,). [N]
    spaces : names of the chambers, the reservoir last.
    pressures : gauge pressure in each space (spaces, velocities). [Pa]
    valves : names of the valves.
    shares : damping force that each valve contributes (valves, velocities); they add up to
        ``damping_force``. [N]
    flows : through each valve, positive from its first to its second space (valves, velocities). [m^3/s]
    drops : pressure drop over each valve, of the same sign (valves, velocities). [Pa]
    paths : names of all flow paths.
    path_flows : through each path, counted as its valve's (paths, velocities). [m^3/s]
    boiling : stretches in which oil boils, of strokes in which it does at one of the velocities.
    temperature : of the oil. [K]
    clicks : position of every clicker.
    """

    velocities: Floats
    damping_force: Floats
    gas_force: float
    friction_force: Floats
    spaces: tuple[str, ...]
    pressures: Floats
    valves: tuple[str, ...]
    shares: Floats
    flows: Floats
    drops: Floats
    paths: tuple[str, ...]
    path_flows: Floats
    boiling: tuple[Boiling, ...]
    temperature: float
    clicks: tuple[tuple[str, int], ...]

    @property
    def total_force(self) -> Floats:
        """Damping, gas and friction together. [N]"""
        return self.damping_force + self.gas_force + self.friction_force

    @property
    def force_against_motion(self) -> Floats:
        """Damping force against the motion, positive in either stroke. [N]"""
        return np.where(self.velocities < 0, -1.0, 1.0) * self.damping_force

    @property
    def cavitation(self) -> tuple[float, float]:
        """Lowest speed in compression and in rebound at which oil boils; nan where it does not. [m/s]

        Beyond it the figures promise nothing.
        """
        first = {sign: [one.slowest for one in self.boiling if one.sign == sign] for sign in (1, -1)}
        return min(first[1], default=math.nan), min(first[-1], default=math.nan)

    @property
    def promised(self) -> NDArray[np.bool_]:
        """Where no chamber has fallen to the vapour pressure."""
        ends = np.where(np.isnan(self.cavitation), np.inf, self.cavitation)
        return np.asarray((self.velocities < ends[0]) & (self.velocities > -ends[1]))
