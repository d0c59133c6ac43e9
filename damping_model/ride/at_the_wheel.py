"""A corner's spring and linkage as the equations of motion take them: tabulated over wheel travel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline
from scipy.optimize import brentq

from damping_model.errors import GeometryError
from damping_model.ride.kernel import FIGURES
from damping_model.ride.machine import SMOOTHED, TYRE_RAMP, Suspension

Floats = NDArray[np.float64]

TABULATED = 129
"""Places in the travel, ends included."""

REACH = 0.5
"""How far beyond either end of the travel a place of rest is looked for, as a share of it. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class WheelTable:
    """Elastic force and motion ratio of one corner over wheel travel.

    Parameters
    ----------
    suspension : of the corner.
    rows : force [N] and motion ratio [-] over wheel travel, each above its slope (4, places).
    step : between two places. [m]
    """

    suspension: Suspension
    rows: Floats
    step: float

    @classmethod
    def of(cls, suspension: Suspension) -> WheelTable:
        """Tabulate a corner.

        Raises
        ------
        GeometryError
            When the air of a spring is used up within the travel.

        Notes
        -----
        Virtual work: the wheel feels :math:`M (F + G)` of spring :math:`F` and gas :math:`G`, with the slope
        :math:`M^2 F' + (F + G) M'`.
        """
        curve, spring = suspension.leverage, suspension.spring
        travel = np.linspace(0.0, curve.wheel_travel_end, TABULATED)
        shaft, ratio = curve.shaft(travel), curve.shaft(travel, 1)
        force = np.array([spring.force(shaft_travel=float(s)) for s in shaft]) + suspension.gas_force
        rate = np.array([spring.rate(shaft_travel=float(s)) for s in shaft])
        bend = curve.shaft(travel, 2)
        rows = np.array([ratio * force, ratio**2 * rate + force * bend, ratio, bend])
        if not np.isfinite(rows).all():
            raise GeometryError("got a spring or linkage without a finite force somewhere in the travel.")
        return cls(suspension, rows, float(travel[1]))

    @property
    def travel(self) -> float:
        """All of the wheel's travel. [m]"""
        return self.suspension.leverage.wheel_travel_end

    def figures(self) -> Floats:
        """Figures of the corner in the order of the equations of motion (FIGURES,)."""
        part = self.suspension
        stops = ((-1.0, part.top_out), (1.0, part.end_spring), (1.0, part.end))
        own = [
            part.unsprung_mass,
            part.tyre.rate,
            part.tyre.damping,
            TYRE_RAMP,
            part.friction,
            SMOOTHED,
            *(x for side, stop in stops for x in (side, stop.start, stop.stiffness, stop.damping)),
        ]
        assert len(own) == FIGURES  # noqa: S101 (the two modules agree)
        return np.array(own)

    def elastic_force(self, travel: float) -> float:
        """Force that spring, gas and stops push body and wheel apart with, at rest. [N]"""
        found = self._spring(np.array([travel]))[0]
        part = self.suspension
        found += part.end_spring.stiffness * max(travel - part.end_spring.start, 0.0) ** 2
        found += part.end.stiffness * max(travel - part.end.start, 0.0) ** 2
        found -= part.top_out.stiffness * max(part.top_out.start - travel, 0.0) ** 2
        return float(found)

    def rest(self, load: float) -> float:
        """Wheel travel at which the elastic force carries a load [N]. [m]

        Raises
        ------
        GeometryError
            When no place in or about the travel does.
        """
        low, high = -REACH * self.travel, (1 + REACH) * self.travel
        if not self.elastic_force(low) <= load <= self.elastic_force(high):
            raise GeometryError(
                f"got {load:.4g} N on a spring that pushes {self.elastic_force(0.0):.4g} N fully out and "
                f"{self.elastic_force(self.travel):.4g} N at the end of its travel: it carries that nowhere."
            )
        found: float = brentq(lambda x: self.elastic_force(x) - load, low, high, xtol=1e-12)
        return found

    def stored(self, travel: Floats) -> Floats:
        """Energy in spring, gas and stops, from full extension on (travels,). [J]"""
        part = self.suspension
        found = self._spring_energy(travel)
        for side, stop in ((-1, part.top_out), (1, part.end_spring), (1, part.end)):
            found += stop.stiffness * np.maximum(side * (travel - stop.start), 0.0) ** 3 / 3
        return found

    def _curve(self) -> CubicHermiteSpline:
        places = np.arange(TABULATED) * self.step
        return CubicHermiteSpline(places, self.rows[0], self.rows[1])

    def _spring(self, travel: Floats) -> Floats:
        inside = np.clip(travel, 0.0, self.travel)
        over = travel - inside
        slope = np.where(over > 0, self.rows[1, -1], self.rows[1, 0])
        found: Floats = self._curve()(inside) + over * slope
        return found

    def _spring_energy(self, travel: Floats) -> Floats:
        inside = np.clip(travel, 0.0, self.travel)
        over = travel - inside
        force = np.where(over > 0, self.rows[0, -1], self.rows[0, 0])
        slope = np.where(over > 0, self.rows[1, -1], self.rows[1, 0])
        found: Floats = self._curve().antiderivative()(inside) + over * force + over**2 * slope / 2
        return found
