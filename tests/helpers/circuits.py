"""Dampers for the tests: one of each circuit, small enough to look through."""

from __future__ import annotations

import dataclasses
import math
import random

from damping_model.damper.damper import Chamber, Damper, Valve
from damping_model.flow.oil import Oil, iso_vg
from damping_model.flow.paths import Bleed, CheckPlate, Clicker, RingLeak
from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.lift import Seat
from damping_model.stack.stack import Shim, Stack
from damping_model.units import kelvin

LIGHT_OIL = Oil(
    name="light oil",
    viscosity_points=((kelvin(celsius=40), 14.6e-6), (kelvin(celsius=100), 3.6e-6)),
    density_15=858.0,
)
PISTON = math.pi / 4 * 27e-3**2
SHAFT = math.pi / 4 * 10e-3**2


def stack(text: str, *, hole: float = 8e-3) -> Stack:
    """Stack from words such as ``"3x20x0.2 17x0.2"``: count, diameter, thickness in mm."""
    shims: list[Shim] = []
    for word in text.split():
        numbers = [float(part) for part in word.split("x")]
        count = int(numbers[0]) if len(numbers) == 3 else 1
        shims += [
            Shim(outer_diameter=numbers[-2] * 1e-3, thickness=numbers[-1] * 1e-3, inner_diameter=hole)
        ] * count
    return Stack(tuple(shims))


def one_change(shims: Stack, seed: int) -> Stack:
    """One shim out, one doubled, or one exchanged; the face shim stays."""
    rng = random.Random(seed)
    row, place = list(shims.shims), rng.randrange(1, len(shims.shims) - 1)
    kind = rng.randrange(3)
    if kind == 0:
        del row[place]
    elif kind == 1:
        row.insert(place, row[place])
    else:
        row[place] = dataclasses.replace(row[place], thickness=rng.choice((0.1e-3, 0.15e-3, 0.2e-3)))
    return Stack(tuple(row))


TWO_STAGE = stack(
    "6x20x0.10 12x0.10 4x19x0.10 2x18x0.10 2x17x0.10 2x16x0.10 15x0.15 14x0.15 13x0.15 12x0.15 11x0.20 10x0.20 9x0.30"
)
COARSE = stack("3x20x0.20 17x0.20 14x0.20 11x0.25 9x0.30")
REBOUND = stack("4x17x0.15 2x16x0.15 2x15x0.15 14x0.15 13x0.15 12x0.20 11x0.20 10x0.20 9x0.30")


def compression_valve(shims: Stack = TWO_STAGE, **changes: object) -> ShimValve:
    """Ports, lip and stack of a trail shock's piston, compression side."""
    values: dict[str, object] = {
        "name": "compression stack", "direction": 1, "port_area": 46e-6, "port_count": 4, "port_length": 7e-3,
        "port_inner_radius": 5e-3, "port_outer_radius": 7.5e-3, "seat": Seat(clamp_radius=4.5e-3, seat_radius=8.5e-3),
        "stack": shims, "open_share": 0.8,
    }  # fmt: skip
    return ShimValve(**(values | changes))  # type: ignore[arg-type]


def rebound_valve(shims: Stack = REBOUND, **changes: object) -> ShimValve:
    """Ports, lip and stack of a trail shock's piston, rebound side."""
    values: dict[str, object] = {
        "name": "rebound stack", "direction": -1, "port_area": 27e-6, "port_count": 3, "port_length": 7e-3,
        "port_inner_radius": 5e-3, "port_outer_radius": 7e-3, "seat": Seat(clamp_radius=4.5e-3, seat_radius=7.5e-3),
        "stack": shims, "open_share": 0.8,
    }  # fmt: skip
    return ShimValve(**(values | changes))  # type: ignore[arg-type]


COMPRESSION_CLICKER = Clicker(
    name="low-speed compression",
    areas=tuple(
        a * 1e-6 for a in (0.12, 0.16, 0.21, 0.27, 0.34, 0.42, 0.51, 0.61, 0.72, 0.84, 0.97, 1.11, 1.26)
    ),
    position=6,
    direction=1,
)
REBOUND_CLICKER = Clicker(
    name="rebound",
    areas=tuple(
        a * 1e-6 for a in (0.10, 0.14, 0.19, 0.25, 0.32, 0.40, 0.49, 0.59, 0.70, 0.82, 0.95, 1.09, 1.24)
    ),
    position=7,
    direction=-1,
)
RING = RingLeak(name="piston ring", diameter=27e-3, clearance=12e-6, length=4e-3)
BELOW, ABOVE, GAS = "below the piston", "above the piston", "gas side"
CHAMBERS = (Chamber(name=BELOW, swept_area=PISTON), Chamber(name=ABOVE, swept_area=SHAFT - PISTON))


def monotube(
    *extra: Valve, paths: tuple[object, ...] | None = None, gas: float = 14e5, **changes: object
) -> Damper:
    """A trail shock: main piston, base holes to the gas side; ``extra`` valves beside them."""
    if paths is None:
        paths = (compression_valve(), rebound_valve(), COMPRESSION_CLICKER, REBOUND_CLICKER, RING)
    base = Valve(
        name="base valve",
        from_chamber=BELOW,
        to_chamber=GAS,
        paths=(Bleed(name="base holes", diameter=2.2e-3, length=3e-3, count=3),),
    )
    values: dict[str, object] = {
        "name": "trail shock", "chambers": CHAMBERS, "reservoir": GAS, "gas_pressure": gas,
        "valves": (Valve(name="main piston", from_chamber=BELOW, to_chamber=ABOVE, paths=paths), base, *extra),  # type: ignore[arg-type]
        "oil": LIGHT_OIL, "temperature": kelvin(celsius=40), "friction": 18.0,
    }  # fmt: skip
    return Damper(**(values | changes))  # type: ignore[arg-type]


def base_valve_shock() -> Damper:
    """The trail shock with an adjuster stack, clicker and refill check to the gas side instead of holes."""
    adjuster = Valve(
        name="adjuster",
        from_chamber=BELOW,
        to_chamber=GAS,
        paths=(
            compression_valve(
                stack("4x20x0.15 18x0.15 16x0.15 14x0.15 12x0.20 10x0.30"), name="adjuster stack"
            ),
            Clicker(
                name="adjuster", areas=tuple(1e-6 * a for a in (0.4, 0.9, 1.6, 2.5, 3.6, 4.9)), position=2
            ),
            refill_check(direction=-1),
        ),
    )
    return monotube(valves=(monotube().valves[0], adjuster), name="shock with adjuster")


def refill_check(*, direction: int, name: str = "refill check") -> CheckPlate:
    """A weak spring behind a wide plate."""
    return CheckPlate(
        name=name, direction=direction, port_area=60e-6, seat_radius=10e-3, opening_pressure=0.05e5, spring_rate=1.5e3,
        lift_stop=1e-3,
    )  # fmt: skip


def fork_cartridge() -> Damper:
    """An open bath with a base valve, and a rod-side valve with a check: loops nowhere, no gas to speak of."""
    piston, shaft = math.pi / 4 * 22e-3**2, math.pi / 4 * 10e-3**2
    base = Valve(
        name="base valve",
        from_chamber=BELOW,
        to_chamber="oil bath",
        paths=(
            compression_valve(
                stack("3x17x0.15 12x0.10 16x0.15 15x0.15 14x0.15 13x0.15 12x0.15 11x0.15 10x0.20 9x0.20", hole=6e-3),
                name="base stack", port_area=24e-6, port_length=6e-3, port_inner_radius=4.2e-3, port_outer_radius=6.3e-3,
                seat=Seat(clamp_radius=4e-3, seat_radius=7e-3), open_share=0.85,
            ),
            Clicker(name="compression", areas=(5e-8, 2e-7, 4.4e-7, 7.7e-7, 1.19e-6), position=2, direction=1),
            CheckPlate(
                name="base refill check", direction=-1, port_area=40e-6, seat_radius=8.5e-3, opening_pressure=0.02e5,
                spring_rate=0.6e3, lift_stop=1.2e-3,
            ),
        ),
    )  # fmt: skip
    shaft_side = Valve(
        name="rod-side valve",
        from_chamber=BELOW,
        to_chamber=ABOVE,
        paths=(
            rebound_valve(
                stack("3x16x0.15 15x0.15 14x0.15 13x0.15 12x0.15 11x0.20 10x0.20 9x0.20", hole=6e-3),
                port_area=18e-6, port_length=6e-3, port_inner_radius=4.2e-3, port_outer_radius=6e-3,
                seat=Seat(clamp_radius=4e-3, seat_radius=6.5e-3), open_share=0.85,
            ),
            CheckPlate(
                name="rod-side check", direction=1, port_area=36e-6, seat_radius=9e-3, opening_pressure=0.15e5,
                spring_rate=2.5e3, lift_stop=0.8e-3,
            ),
            Clicker(name="rebound", areas=(6e-8, 2.4e-7, 5.1e-7, 8.7e-7, 1.16e-6), position=2),
            RingLeak(name="cartridge ring", diameter=22e-3, clearance=15e-6, length=4e-3),
        ),
    )  # fmt: skip
    return Damper(
        name="fork cartridge",
        chambers=(Chamber(name=BELOW, swept_area=piston), Chamber(name=ABOVE, swept_area=shaft - piston)),
        reservoir="oil bath",
        gas_pressure=1.5e5,
        valves=(base, shaft_side),
        oil=iso_vg(15, density_15=862.0),
        temperature=kelvin(celsius=30),
        friction=12.0,
    )


def looped_shock() -> Damper:
    """The shock with adjuster and a third valve from above the piston to the gas side: a loop of three valves."""
    whole = base_valve_shock()
    third = Valve(
        name="rebound base valve",
        from_chamber=ABOVE,
        to_chamber=GAS,
        paths=(
            rebound_valve(direction=1, name="third stack"),
            Bleed(name="third bleed", diameter=0.6e-3, length=1e-3),
            refill_check(direction=-1, name="third check"),
        ),
    )
    return monotube(valves=(*whole.valves, third), name="looped shock")


EVERY = (monotube, base_valve_shock, fork_cartridge, looped_shock)
"""One of each circuit."""
