"""A damper's force as a ride asks for it: a curve through computed points, in both strokes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from damping_model.errors import GeometryError

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class DampingCurve:
    """Damping force against shaft velocity, and up to where it is promised.

    Parameters
    ----------
    velocities : of the shaft, rising through 0, positive in compression. [m/s]
    forces : damping force, signed as the velocity, 0 at rest. [N]
    compression_promised, rebound_promised : speeds from which on oil boils; infinite where it does not. [m/s]

    Raises
    ------
    GeometryError
        When the points make no curve, or the damper would push.

    Notes
    -----
    Between the points runs a monotone cubic (F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980)
    238-246); beyond the last the force goes straight on.
    """

    velocities: tuple[float, ...]
    forces: tuple[float, ...]
    compression_promised: float = math.inf
    rebound_promised: float = math.inf

    def __post_init__(self) -> None:
        """Refuse what is no damping curve."""
        v, force = np.asarray(self.velocities), np.asarray(self.forces)
        if v.ndim != 1 or v.shape != force.shape or v.size < 3 or not (np.diff(v) > 0).all():
            raise GeometryError(
                f"got {v.size} velocities and {force.size} forces of a damper, expected as many of each, "
                "three at least, the velocities rising."
            )
        if not (np.isfinite(v).all() and np.isfinite(force).all()):
            raise GeometryError("got a damping force that is not a number, expected finite ones throughout.")
        if (force * v < 0).any() or force[v == 0].any() or not v[0] < 0 < v[-1]:
            raise GeometryError(
                "got a damper that pushes, expected forces against the motion in both strokes, none at rest."
            )

    @classmethod
    def linear(cls, coefficient: float, *, rebound: float | None = None) -> DampingCurve:
        """Force in proportion to velocity, by a coefficient for each stroke. [N s/m]"""
        back = coefficient if rebound is None else rebound
        return cls((-10.0, 0.0, 10.0), (-10.0 * back, 0.0, 10.0 * coefficient))

    @classmethod
    def through(
        cls,
        velocities: Sequence[float] | Floats,
        forces: Sequence[float] | Floats,
        *,
        promised: tuple[float, float] = (math.inf, math.inf),
    ) -> DampingCurve:
        """Curve through points of a damper; rest is added where it is left out.

        Parameters
        ----------
        velocities, forces : as of the curve, in any order. [m/s], [N]
        promised : speeds in compression and rebound from which on nothing is promised. [m/s]
        """
        points = {float(v): float(f) for v, f in zip(velocities, forces, strict=True)} | {0.0: 0.0}
        ordered = sorted(points.items())
        return cls(tuple(v for v, _ in ordered), tuple(f for _, f in ordered), *promised)

    def rows(self) -> Floats:
        """Velocities, forces and slopes (3, velocities), as the equations of motion take them."""
        v, force = np.asarray(self.velocities), np.asarray(self.forces)
        return np.array([v, force, PchipInterpolator(v, force)(v, 1)])

    def force(self, velocities: Floats) -> Floats:
        """Damping force [N] at shaft velocities [m/s] within the points."""
        found: Floats = np.asarray(PchipInterpolator(self.velocities, self.forces)(velocities))
        return found
