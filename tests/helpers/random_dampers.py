"""Dampers drawn at random, wide enough to hold anything that a shop might describe and some that none would."""

from __future__ import annotations

import math
import random

import numpy as np
from hypothesis import assume

from damping_model.damper.curve import ForceCurve
from damping_model.damper.damper import Chamber, Damper, Valve
from damping_model.damper.force import force_curve
from damping_model.errors import GeometryError
from damping_model.flow.oil import ISO_VISCOSITY_GRADES, Oil, iso_vg
from damping_model.flow.paths import Bleed, CheckPlate, Clicker, RingLeak
from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.lift import Seat
from damping_model.stack.stack import Shim, Stack
from damping_model.units import kelvin

THICKNESSES = (0.1e-3, 0.15e-3, 0.2e-3, 0.25e-3, 0.3e-3)


def random_stack(rng: random.Random, *, face: float, clamp: float) -> Stack:
    """A taper of shims with a crossover in every third stack, on a clamp of the given diameter."""
    hole = clamp - 1e-3
    widths: list[float] = [face] * rng.randint(1, 6)
    if rng.random() < 0.33:
        widths += [clamp + rng.uniform(0.2, 0.7) * (face - clamp)] + [
            face - 1e-3 * rng.randint(0, 2)
        ] * rng.randint(1, 4)
    width = widths[-1]
    while width > clamp + 1.5e-3 and rng.random() < 0.9:
        width -= 1e-3 * rng.randint(1, 3)
        if width > clamp:
            widths += [width] * rng.randint(1, 2)
    shims = [Shim(outer_diameter=w, thickness=rng.choice(THICKNESSES), inner_diameter=hole) for w in widths]
    return Stack((*shims, Shim(outer_diameter=clamp, thickness=0.3e-3, inner_diameter=hole)))


def random_shim_valve(rng: random.Random, name: str, *, direction: int, bore: float) -> ShimValve:
    """Ports, lip and stack that fit a bore."""
    clamp = bore * rng.uniform(0.3, 0.42)
    inner, outer, seat = (
        bore * rng.uniform(0.43, 0.5),
        bore * rng.uniform(0.55, 0.65),
        bore * rng.uniform(0.66, 0.72),
    )
    proud = rng.choice((0.0, 0.0, 0.0, rng.uniform(-0.1e-3, 0.2e-3)))
    return ShimValve(
        name=name,
        direction=direction,
        port_area=math.pi / 4 * (outer**2 - inner**2) * rng.uniform(0.2, 0.8),
        port_count=rng.randint(2, 8),
        port_length=rng.uniform(2e-3, 15e-3),
        port_inner_radius=inner / 2,
        port_outer_radius=outer / 2 if rng.random() < 0.8 else seat / 2,
        seat=Seat(clamp_radius=clamp / 2, seat_radius=seat / 2, seat_height=proud),
        stack=random_stack(rng, face=bore * rng.uniform(0.73, 0.85), clamp=clamp),
        port_discharge=rng.uniform(0.6, 0.95),
        curtain_discharge=rng.uniform(0.55, 0.85),
        open_share=rng.uniform(0.5, 1.0),
        momentum=rng.random() < 0.3,
    )


def random_paths(rng: random.Random, name: str, *, bore: float) -> tuple[object, ...]:
    """Ways through one valve; now and then one direction has none, as in a file with a mistake."""
    paths: list[object] = []
    for direction, side in ((1, "out"), (-1, "back")):
        kind = rng.random()
        if kind < 0.6:
            paths.append(random_shim_valve(rng, f"{name} stack {side}", direction=direction, bore=bore))
        elif kind < 0.95:
            paths.append(
                CheckPlate(
                    name=f"{name} check {side}",
                    direction=direction,
                    port_area=bore**2 * rng.uniform(0.05, 0.2),
                    seat_radius=bore * rng.uniform(0.2, 0.4),
                    opening_pressure=rng.choice((0.0, rng.uniform(0, 1e5))),
                    spring_rate=rng.uniform(0.3e3, 20e3),
                    lift_stop=rng.uniform(0.3e-3, 2e-3),
                )
            )
    if rng.random() < 0.7:
        area, areas = rng.uniform(0.0, 0.3e-6), []
        for _ in range(rng.randint(2, 20)):
            areas.append(area)
            area += rng.uniform(0.0, 0.2e-6)
        paths.append(
            Clicker(
                name=f"{name} clicker",
                areas=tuple(areas),
                position=rng.randrange(len(areas)),
                direction=rng.choice((-1, 0, 0, 1)),
                length=rng.uniform(0, 2e-3),
            )
        )
    if rng.random() < 0.5 or not paths:
        paths.append(
            Bleed(
                name=f"{name} bleed",
                diameter=rng.uniform(0.3e-3, 2.5e-3),
                length=rng.uniform(0, 5e-3),
                count=rng.randint(1, 4),
                direction=rng.choice((-1, 0, 0, 0, 1)),
            )
        )
    if rng.random() < 0.8:
        paths.append(
            RingLeak(
                name=f"{name} ring",
                diameter=bore,
                clearance=rng.uniform(5e-6, 60e-6),
                length=rng.uniform(2e-3, 10e-3),
                eccentricity=rng.random(),
            )
        )
    return tuple(paths)


def random_oil(rng: random.Random) -> Oil:
    """A grade, or two viscosities as a can has them."""
    if rng.random() < 0.5:
        return iso_vg(round(rng.choice(ISO_VISCOSITY_GRADES[1:9])), density_15=rng.uniform(820, 900))
    hot = rng.uniform(2e-6, 8e-6)
    points = (kelvin(celsius=40), hot * rng.uniform(2, 6)), (kelvin(celsius=100), hot)
    return Oil(name="can", viscosity_points=points, density_15=rng.uniform(820, 900))


def random_damper(seed: int) -> Damper:
    """One of five circuits with everything in it drawn at random."""
    rng = random.Random(seed)
    bore = rng.uniform(18e-3, 50e-3)
    rod = bore * rng.uniform(0.25, 0.6)
    piston, shaft = math.pi / 4 * bore**2, math.pi / 4 * rod**2
    below, above, gas = "below", "above", "gas"
    joints = [("main", below, above), ("base", below, gas)]
    circuit = rng.randrange(5)
    if circuit == 1:
        joints.append(("second main", above, below))
    elif circuit == 2:
        joints.append(("third", above, gas))
    elif circuit == 3:
        joints[1] = ("base", above, gas)
    elif circuit == 4:
        joints += [("to outer", above, "outer"), ("outer base", "outer", gas)]
    chambers = [Chamber(name=below, swept_area=piston), Chamber(name=above, swept_area=shaft - piston)]
    if circuit == 4:
        chambers.append(Chamber(name="outer", swept_area=0.0))
    return Damper(
        name=f"random {seed}",
        chambers=tuple(chambers),
        reservoir=gas,
        gas_pressure=rng.uniform(0, 20e5),
        valves=tuple(
            Valve(name=name, from_chamber=a, to_chamber=b, paths=random_paths(rng, name, bore=bore))  # type: ignore[arg-type]
            for name, a, b in joints
        ),
        oil=random_oil(rng),
        temperature=kelvin(celsius=rng.uniform(-10, 90)),
        friction=rng.uniform(0, 50),
    )


def curve_of(damper: Damper, *, velocities: np.ndarray, temperature: float | None = None) -> ForceCurve:
    """Curve of a damper that oil can get through; others are put aside."""
    try:
        return force_curve(damper, velocities=velocities, temperature=temperature)
    except GeometryError as error:
        assume("next to no way" not in str(error))
        raise
