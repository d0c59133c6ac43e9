"""A ride that was computed: what each corner did at every instant, and where its energy went."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from damping_model.ride import kernel
from damping_model.ride.at_the_wheel import WheelTable
from damping_model.ride.machine import RidingMachine
from damping_model.units import STANDARD_GRAVITY

Floats = NDArray[np.float64]

LEAST_THROUGHPUT = 1e-3
"""A machine that stands still moves less, and what rounding leaves is held against this. [J]"""


@dataclass(frozen=True, slots=True)
class Energy:
    """Where the energy of a ride came from and went.

    Parameters
    ----------
    by_road, by_load : work done on the machine. [J]
    damped : lost in each corner's damper (corners,). [J]
    rubbed, in_tyres, in_stops : lost in seals, tyres and stops, all corners together. [J]
    stored : gained by masses, springs, stops and tyres. [J]
    throughput : all that went in or out, without its sign. [J]
    """

    by_road: float
    by_load: float
    damped: tuple[float, ...]
    rubbed: float
    in_tyres: float
    in_stops: float
    stored: float
    throughput: float

    @property
    def lost(self) -> float:
        """In dampers, seals, tyres and stops. [J]"""
        return sum(self.damped) + self.rubbed + self.in_tyres + self.in_stops

    @property
    def imbalance(self) -> float:
        """What went in and is neither lost nor stored, over the throughput. [-]"""
        amiss = self.by_road + self.by_load - self.lost - self.stored
        return amiss / max(self.throughput, LEAST_THROUGHPUT)


@dataclass(frozen=True, slots=True, eq=False)
class RideMotion:
    """Motion of a machine.

    Parameters
    ----------
    machine : that rode.
    tables : its corners.
    times : that are told of. [s]
    states : of the equations of motion (times, states).
    seen : what each corner did (corners, SEEN, times).
    """

    machine: RidingMachine
    tables: tuple[WheelTable, ...]
    times: Floats
    states: Floats
    seen: Floats

    def travel(self, corner: int) -> Floats:
        """Wheel travel from full extension (times,). [m]"""
        return self._of(corner, kernel.TRAVEL)

    def shaft_velocity(self, corner: int) -> Floats:
        """Positive in compression (times,). [m/s]"""
        return self._of(corner, kernel.SHAFT_VELOCITY)

    def wheel_velocity(self, corner: int) -> Floats:
        """Rate of wheel travel (times,). [m/s]"""
        return self._of(corner, kernel.VELOCITY)

    def damper_force(self, corner: int) -> Floats:
        """Damping force at the wheel (times,). [N]"""
        return self._of(corner, kernel.DAMPER)

    def tyre_force(self, corner: int) -> Floats:
        """Load of the tyre on the ground (times,). [N]"""
        return self._of(corner, kernel.TYRE)

    def stop_force(self, corner: int) -> Floats:
        """Force of the stops; negative where it tops out (times,). [N]"""
        return self._of(corner, kernel.STOP)

    def body_acceleration(self, corner: int) -> Floats:
        """Upwards, of the body above the wheel (times,). [m/s^2]"""
        return self._of(corner, kernel.BODY)

    def body_height(self, corner: int) -> Floats:
        """Of the body above the wheel (times,). [m]"""
        return np.asarray(self.states[:, corner])

    def body_velocity(self, corner: int) -> Floats:
        """Upwards, of the body above the wheel (times,). [m/s]"""
        return np.asarray(self.states[:, len(self.tables) + corner])

    def static_tyre_force(self, corner: int) -> float:
        """Load of the tyre at rest. [N]"""
        mass = self.machine.body.shares[corner] + self.machine.corners[corner].unsprung_mass
        return mass * STANDARD_GRAVITY

    def energy(self) -> Energy:
        """Balance of the whole ride."""
        count = len(self.tables)
        ledger = self.states[-1, 4 * count : -1].reshape(count, kernel.LEDGER)
        by_road, by_load, damped, rubbed, tyres, stops = ledger.T
        ends = self._stored(self.states[[0, -1]], self.seen[:, :, [0, -1]])
        return Energy(
            by_road=float(by_road.sum()),
            by_load=float(by_load.sum()),
            damped=tuple(float(one) for one in damped),
            rubbed=float(rubbed.sum()),
            in_tyres=float(tyres.sum()),
            in_stops=float(stops.sum()),
            stored=float(ends[1] - ends[0]),
            throughput=float(self.states[-1, -1] + np.abs(ledger[:, 2:]).sum()),
        )

    def _stored(self, states: Floats, seen: Floats) -> Floats:
        count = len(self.tables)
        body, rising, wheels, wheels_rising = (states[:, count * k : count * (k + 1)] for k in range(4))
        masses = np.linalg.inv(self.machine.body.weights)
        found: Floats = 0.5 * np.einsum("ti,ij,tj->t", rising, masses, rising)
        for i, (table, share) in enumerate(zip(self.tables, self.machine.body.shares, strict=True)):
            part = table.suspension
            found += share * STANDARD_GRAVITY * body[:, i]
            found += part.unsprung_mass * (0.5 * wheels_rising[:, i] ** 2 + STANDARD_GRAVITY * wheels[:, i])
            found += table.stored(seen[i, kernel.TRAVEL])
            found += 0.5 * part.tyre.rate * np.maximum(seen[i, kernel.ROAD] - wheels[:, i], 0.0) ** 2
        return found

    def _of(self, corner: int, what: int) -> Floats:
        return np.asarray(self.seen[corner, what])
