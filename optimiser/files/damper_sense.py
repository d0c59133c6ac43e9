"""Numbers of a damper file held against one another: what contradicts itself, and what is only unusual.

Each number has passed the table of :mod:`optimiser.files.bounds` before. A contradiction is refused; what a
real damper might have all the same is an oddity, said beside every answer.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from optimiser.files.bounds import FINEST_CLICK
from optimiser.model.oddity import Oddity

if TYPE_CHECKING:
    from optimiser.files.damper_file import CheckSection, DamperFile, LeakSection, StackSection, ValveSection

ROOM: Final = 1.02
"""How much wider than the piston its own ring may be measured. [-]"""

OTHER_BODY: Final = 2.0
"""How much wider than the piston a valve in a body of its own may be. [-]"""

WIDEST_GAP: Final = 1 / 20
"""Most radial clearance, as part of the diameter. [-]"""

NEAREST_WARMTHS: Final = 20.0
"""Two viscosities closer together say nothing of how an oil thins. [°C]"""

COLDEST, HOTTEST = -40.0, 200.0
"""Where viscosities are measured. [°C]"""

FLATTEST, STEEPEST = 1.0, 6.0
"""Slope of lg lg (ν + 0.7) over lg T: mineral oils have 3 to 4, the flattest silicones 1.5. [-]"""

UNUSUALLY_FLAT: Final = 1.9
"""Under it no damper oil of the trade is known; common practice, no source. [-]"""

UNUSUAL_STROKES: Final = (("piston", "rebound"), ("annulus", "compression"))
"""What pushes in the other stroke than in a damper whose shaft comes in at one end."""

MOST_UNCHARGED: Final = 5.0
"""Gauge pressure of a damper that is opened like any other: a fork's air. [bar]"""


def disc(diameter: float) -> float:
    """Area of a circle."""
    return math.pi / 4 * diameter**2


def refuse_ports_beyond_their_ring(stack: StackSection) -> None:
    """Ports take no more room than the ring that they lie on."""
    ring = disc(stack.port_outer_diameter_mm) - disc(stack.port_inner_diameter_mm)
    if stack.port_area_mm2 > ring:
        raise ValueError(
            f"port_area_mm2 of at most {ring:.3g}, the whole ring from port_inner_diameter_mm to "
            f"port_outer_diameter_mm, got {stack.port_area_mm2:g}; is it the area of all ports together, "
            "in mm²?"
        )


def refuse_seat_inside_ports(check: CheckSection) -> None:
    """A lip goes around its ports."""
    inside = disc(check.seat_diameter_mm)
    if check.port_area_mm2 > inside:
        raise ValueError(
            f"port_area_mm2 of at most {inside:.3g}, all that lies inside the lip of seat_diameter_mm "
            f"{check.seat_diameter_mm:g}, got {check.port_area_mm2:g}; measure the lip around the ports"
        )


def refuse_gap_beyond_ring(leak: LeakSection) -> None:
    """A clearance is a small part of the diameter."""
    most = WIDEST_GAP * leak.diameter_mm
    if leak.clearance_mm > most:
        raise ValueError(
            f"clearance_mm of at most {most:.3g}, a twentieth of diameter_mm, got {leak.clearance_mm:g}; "
            "it is the gap on one side, in mm"
        )


def refuse_idle_clicks(areas: Sequence[float]) -> None:
    """A clicker changes what it lets through."""
    for click, area in enumerate(areas):
        if 0 < area < FINEST_CLICK:
            raise ValueError(
                f"area_mm2 of 0 or at least {FINEST_CLICK:g}, got {area:g} at {click}; "
                "write 0 where it is shut"
            )
    if areas[0] == areas[-1]:
        raise ValueError(
            f"area_mm2 that grows with clicks out, got {areas[0]:g} at every click; "
            "a hole that nothing moves is a [[valve.bleed]]"
        )


def refuse_what_is_no_oil(table: Mapping[float, float]) -> None:
    """Two viscosities far enough apart, falling as oils thin; by temperature [°C] in mm²/s."""
    (cold, thick), (hot, thin) = sorted(table.items())
    for warmth in (cold, hot):
        if not COLDEST <= warmth <= HOTTEST:
            raise ValueError(f"temperatures from {COLDEST:g} to {HOTTEST:g} °C, got {warmth:g}")
    if hot - cold < NEAREST_WARMTHS:
        raise ValueError(
            f"two temperatures at least {NEAREST_WARMTHS:g} °C apart, got {cold:g} and {hot:g}; "
            "the oil's sheet has 40 and 100"
        )
    if not FLATTEST <= _slope(table) <= STEEPEST:
        least, most = (_thinned(cold, thick, hot, slope) for slope in (STEEPEST, FLATTEST))
        raise ValueError(
            f"a viscosity from {least:.3g} to {most:.3g} mm²/s at {hot:g} °C, as oils thin, got {thin:g}; "
            "look at the oil's sheet"
        )


def refuse_contradictions(file: DamperFile) -> None:
    """What the tables of a damper say against one another."""
    swept = _lost_in_compression(file)
    both = {chamber.shrinks_in for chamber in file.chamber} == {"compression", "rebound"}
    if both and swept < -1e-6 * disc(file.piston_diameter_mm):
        raise ValueError(
            "chambers that together lose room in compression, as the shaft comes in, got a gain of "
            f"{-swept:.3g} mm² of area; swap compression and rebound in shrinks_in"
        )
    bar = file.reservoir.gas_pressure_bar
    if file.gas_charged and bar == 0:
        raise ValueError(
            "gas_pressure_bar above 0 where gas_charged = true, got 0; without pressure it is false"
        )
    if not file.gas_charged and bar > MOST_UNCHARGED:
        raise ValueError(
            f"gas_charged = true where gas_pressure_bar is more than {MOST_UNCHARGED:g}, got false and "
            f"{bar:g}; whoever opens it has to be warned"
        )
    for valve in file.valve:
        most = file.piston_diameter_mm * (ROOM if _sits_on_piston(file, valve) else OTHER_BODY)
        for name, field, width in _widths(valve):
            if width > most:
                raise ValueError(
                    f"{field} of '{name}' of at most {most:.3g}, as the piston of "
                    f"{file.piston_diameter_mm:g} mm leaves room, got {width:.3g}"
                )


def oddities_of(file: DamperFile) -> Iterator[Oddity]:
    """What is unusual, although a real damper might have it."""
    for chamber in file.chamber:
        if (chamber.area, chamber.shrinks_in) in UNUSUAL_STROKES:
            yield Oddity(
                what=f"shrinks_in of '{chamber.name}'",
                got=f"{chamber.shrinks_in} for the {chamber.area}",
                expected="the piston to push in compression, the annulus around the shaft in rebound",
            )
    for valve in file.valve:
        for name, field, width in _widths(valve):
            if width > file.piston_diameter_mm * ROOM:
                yield Oddity(
                    what=f"{field} of '{name}'",
                    got=f"{width:.3g} mm",
                    expected=f"at most the piston's {file.piston_diameter_mm:g} mm, unless its body is wider",
                )
        for clicker in valve.clicker:
            idle = sum(closed == opened for closed, opened in pairwise(clicker.area_mm2))
            if idle:
                yield Oddity(
                    what=f"area_mm2 of '{clicker.name}'",
                    got=f"{idle} {'click that changes' if idle == 1 else 'clicks that change'} nothing",
                    expected="an area that grows with every click",
                )
    table = file.oil.viscosities
    if table is not None and _slope(table) < UNUSUALLY_FLAT:
        (_, thick), (hot, thin) = sorted(table.items())
        yield Oddity(
            what=f"viscosity_mm2_s of '{file.oil.name}'",
            got=f"only {thick / thin:.2g} times thinner at {hot:g} °C",
            expected="an oil that thins more; only silicones thin so little",
        )


def _lost_in_compression(file: DamperFile) -> float:
    """Area [mm²] that all chambers together lose."""
    piston, shaft = disc(file.piston_diameter_mm), disc(file.shaft_diameter_mm)
    named = {"piston": piston, "annulus": piston - shaft, "shaft": shaft}
    areas = (
        (named[one.area] if isinstance(one.area, str) else one.area)
        * (1 if one.shrinks_in == "compression" else -1)
        for one in file.chamber
    )
    return sum(areas)


def _sits_on_piston(file: DamperFile, valve: ValveSection) -> bool:
    """Whether a valve joins a chamber of the one stroke to one of the other: it moves with the shaft."""
    strokes = {one.name: one.shrinks_in for one in file.chamber}
    return {strokes.get(end) for end in valve.between} == {"compression", "rebound"}


def _widths(valve: ValveSection) -> Iterator[tuple[str, str, float]]:
    """Path, field and diameter [mm] of all that has to find room beside or on the piston."""
    for stack in valve.stack:
        yield stack.name, "bore_diameter_mm", stack.bore_diameter_mm
    for bleed in valve.bleed:
        yield bleed.name, "diameter_mm of all holes together", bleed.diameter_mm * math.sqrt(bleed.count)
    for check in valve.check:
        yield check.name, "seat_diameter_mm", check.seat_diameter_mm
    for leak in valve.leak:
        yield leak.name, "diameter_mm", leak.diameter_mm
    for clicker in valve.clicker:
        yield clicker.name, "width of the last of area_mm2", math.sqrt(clicker.area_mm2[-1] / disc(1.0))


def _slope(table: Mapping[float, float]) -> float:
    """How steeply an oil thins: lg lg (ν + 0.7) over lg T, ASTM D341. [-]"""
    (cold, thick), (hot, thin) = sorted(table.items())
    return (_height(thick) - _height(thin)) / math.log10((hot + 273.15) / (cold + 273.15))


def _thinned(cold: float, thick: float, hot: float, slope: float) -> float:
    """Viscosity [mm²/s] at the hotter temperature of an oil of a given slope."""
    height = _height(thick) - slope * math.log10((hot + 273.15) / (cold + 273.15))
    return max(10 ** (10**height) - 0.7, 0.0)


def _height(viscosity: float) -> float:
    return math.log10(math.log10(viscosity + 0.7))
