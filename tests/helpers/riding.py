"""Machines to ride in tests: a linear corner that books solve, and one with everything that real ones have."""

from __future__ import annotations

import random

import numpy as np

from damping_model.ride.damping_curve import DampingCurve
from damping_model.ride.machine import Body, RidingMachine, Stop, Suspension, Tyre
from damping_model.vehicle.leverage import LeverageCurve
from damping_model.vehicle.spring import AirSpring, CoilSpring

NOWHERE = Stop(start=-10.0, stiffness=0.0)
"""A stop that is never met."""


def linear_corner(
    *, stiffness: float, damping: float, unsprung: float, tyre: float, tyre_damping: float = 0.0
) -> Suspension:
    """Spring and damper in proportion, a linkage of one to one, no stops, no friction."""
    return Suspension(
        leverage=LeverageCurve.constant(travel=0.4),
        spring=CoilSpring(stiffness=stiffness),
        damping=DampingCurve.linear(damping),
        unsprung_mass=unsprung,
        tyre=Tyre(rate=tyre, damping=tyre_damping),
        top_out=NOWHERE,
        end_spring=Stop(start=10.0, stiffness=0.0),
        end=Stop(start=10.0, stiffness=0.0),
    )


def real_corner(*, seed: int = 0) -> Suspension:
    """Falling leverage, air or coil, stops, friction, a damper unlike in its strokes, a tyre that lifts."""
    rng = random.Random(seed)
    travel = rng.uniform(0.1, 0.4)
    ratio = rng.uniform(1.0, 3.0)
    leverage = LeverageCurve.from_leverage_ratio(
        wheel=[0.0, travel / 2, travel], leverage_ratio=[ratio, ratio * 0.92, ratio * rng.uniform(0.75, 0.9)]
    )
    load = rng.uniform(250.0, 4000.0)
    at_shaft, stroke = load * ratio, leverage.shaft_travel_end
    if rng.random() < 0.5:
        spring: CoilSpring | AirSpring = CoilSpring(
            stiffness=at_shaft / (0.3 * stroke), preload=rng.uniform(0.0, 0.05) * stroke
        )
    else:
        area = 1.2e-3
        spring = AirSpring(
            pressure=0.6 * at_shaft / area, area=area, volume=area * stroke * rng.uniform(1.5, 2.5)
        )
    speeds = np.geomspace(1e-3, 6.0, 25)
    firm, power = at_shaft * rng.uniform(0.2, 0.6), rng.uniform(0.6, 1.2)
    forces = firm * speeds**power
    return Suspension(
        leverage=leverage,
        spring=spring,
        damping=DampingCurve.through(
            np.concatenate([-speeds, speeds]), np.concatenate([-rng.uniform(1, 2.5) * forces, forces])
        ),
        unsprung_mass=load / 9.81 * rng.uniform(0.05, 0.25),
        tyre=Tyre(rate=load / rng.uniform(0.005, 0.02), damping=rng.uniform(0.0, 300.0)),
        top_out=Stop(start=0.0, stiffness=load / 3e-3**2, damping=0.2),
        end_spring=Stop(start=0.9 * travel, stiffness=3 * load / (0.1 * travel) ** 2, damping=0.2),
        end=Stop(start=travel, stiffness=20 * load / 3e-3**2, damping=0.2),
        gas_force=rng.uniform(0.0, 0.1) * at_shaft,
        friction=rng.uniform(0.0, 0.05) * at_shaft,
    )


def carried_by(corner: Suspension, *, sag: float = 0.3) -> float:
    """Mass that presses a corner in to a share of its travel. [kg]"""
    from damping_model.ride.at_the_wheel import WheelTable

    table = WheelTable.of(corner)
    return table.elastic_force(sag * table.travel) / 9.80665


def on_one(corner: Suspension, *, sag: float = 0.3) -> RidingMachine:
    """A body on one corner, at a sag."""
    return RidingMachine(body=Body(shares=(carried_by(corner, sag=sag),)), corners=(corner,))


def on_two(front: Suspension, rear: Suspension, *, dynamic_index: float = 0.8) -> RidingMachine:
    """A body on two corners, with a pitch inertia of a share of m a b."""
    shares = carried_by(front), carried_by(rear)
    mass, wheelbase = sum(shares), 1.3
    arms = wheelbase * shares[1] / mass, wheelbase * shares[0] / mass
    body = Body(shares=shares, wheelbase=wheelbase, pitch_inertia=dynamic_index * mass * arms[0] * arms[1])
    return RidingMachine(body=body, corners=(front, rear))
