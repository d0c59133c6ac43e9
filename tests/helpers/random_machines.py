"""Machines, riders, dampers and events drawn at random: some that a shop might have, some that none would."""

from __future__ import annotations

import dataclasses
import random

import numpy as np

from damping_model.errors import ModelError
from damping_model.ride.damping_curve import DampingCurve
from damping_model.vehicle.leverage import LeverageCurve
from damping_model.vehicle.spring import AirSpring, CoilSpring
from optimiser.errors import ShimwrightError
from optimiser.intake.complaint import NamedBand
from optimiser.intake.machine import AirPressure, Corner, Machine, Rider
from optimiser.ride.as_ridden import OwnDamper, as_ridden
from optimiser.ride.events import RideTable
from optimiser.ride.telling import Told, told

BANDS = (NamedBand("low", 0.04, 0.15), NamedBand("mid", 0.15, 0.6), NamedBand("high", 0.6, 1.5))


def _random_corner(rng: random.Random, name: str, *, load: float, share: float) -> Corner:
    travel = 10 ** rng.uniform(-1.3, -0.2)
    ratios = [rng.uniform(0.6, 4.0)]
    for _ in range(3):
        ratios.append(ratios[-1] * rng.uniform(0.75, 1.2))
    leverage = LeverageCurve.from_leverage_ratio(wheel=list(np.linspace(0, travel, 4)), leverage_ratio=ratios)
    stroke = leverage.shaft_travel_end
    needed = load * travel / stroke
    kind = rng.random()
    spring: CoilSpring | AirSpring | AirPressure | None = None
    if kind < 0.45:
        rate = needed / stroke * 10 ** rng.uniform(-0.3, 1.2)
        spring = CoilSpring(stiffness=rate, preload=rng.choice((0.0, rng.uniform(0, 0.3) * stroke)))
    elif kind < 0.75:
        area = 10 ** rng.uniform(-3.3, -2.5)
        spring = AirSpring(
            pressure=max(needed / area * rng.uniform(0.2, 1.5), 1e4),
            area=area,
            volume=area * stroke * rng.uniform(1.05, 4.0),
            negative_volume=rng.choice((0.0, area * stroke * rng.uniform(0.1, 1.0))),
        )
    elif kind < 0.9:
        spring = AirPressure(rng.uniform(1e5, 3e6))
    return Corner(
        name=name,
        end=name,
        leverage=leverage,
        spring=spring,
        load_share=share,
        unsprung_mass=rng.choice((0.0, load / 9.81 * rng.uniform(0.02, 0.5))),
        wheel_radius=rng.choice((None, rng.uniform(0.1, 0.5))),
        anti_squat=rng.choice((None, rng.uniform(-0.5, 2.0))),
    )


def ridden_at_random(seed: int, table: RideTable) -> tuple[Told | None, str]:
    """One random machine through one random event: what was told, or the reason of a refusal.

    Any other error comes through: it would be a fault.
    """
    rng = random.Random(seed)
    kind = rng.choice(list(table.usual))
    mass, rider = 10 ** rng.uniform(0.7, 3.2), Rider("drawn", rng.uniform(30, 150))
    share = rng.uniform(0.2, 0.8)
    loads = [9.81 * part * (mass + rider.mass) for part in (share, 1 - share)]
    corners = (
        _random_corner(rng, "front", load=loads[0], share=share),
        _random_corner(rng, "rear", load=loads[1], share=1 - share),
    )
    machine = Machine(
        name="drawn",
        kind=kind,
        mass=mass,
        corners=corners,
        wheelbase=rng.choice((None, rng.uniform(0.8, 4.0))),
        mass_height=rng.choice((None, rng.uniform(0.2, 1.5))),
    )
    place = rng.randrange(2)
    corner = corners[place]
    speeds = np.geomspace(3e-3, 8.0, 22)
    at_shaft = loads[place] * corner.leverage.mean_leverage_ratio
    forces = at_shaft * 10 ** rng.uniform(-1.5, 0.7) * speeds ** rng.uniform(0.4, 2.0)
    damper = OwnDamper(
        damping=DampingCurve.through(
            np.concatenate([-speeds, speeds]),
            np.concatenate([-(10 ** rng.uniform(-0.5, 0.8)) * forces, forces]),
            promised=(rng.choice((np.inf, rng.uniform(0.5, 4.0))), np.inf),
        ),
        gas_force=rng.uniform(0, 0.2) * at_shaft,
        friction=rng.uniform(0, 0.1) * at_shaft,
    )
    event = rng.choice(table.events_on(kind))
    for figure in ("height", "speed", "length", "deceleration", "acceleration"):
        value = getattr(event, figure)
        if value is not None:
            event = dataclasses.replace(event, **{figure: value * 10 ** rng.uniform(-0.5, 0.4)})
    try:
        machine_in_time = as_ridden(
            machine,
            rider,
            corner,
            damper=damper,
            usual=table.usual_of(kind),
            sag=rng.uniform(0.1, 0.5) * corner.travel,
            sag_measured=rng.random() < 0.5,
            both_ends=event.wheels == 2,
        )
        return told(event, machine_in_time, bands=BANDS), ""
    except (ShimwrightError, ModelError) as error:
        return None, str(error)
