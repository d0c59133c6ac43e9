"""Numbers of one part of a damper held against one another: ports and ring, lip, gap, clicks, oil."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

from optimiser.files.bounds import FINEST_CLICK

WIDEST_GAP: Final = 1 / 20
"""Most radial clearance, as part of the diameter. [-]"""

NEAREST_WARMTHS: Final = 20.0
"""Two viscosities closer together say nothing of how an oil thins. [°C]"""

COLDEST, HOTTEST = -40.0, 200.0
"""Where viscosities are measured. [°C]"""

FLATTEST, STEEPEST = 1.0, 6.0
"""Slope of lg lg (ν + 0.7) over lg T: mineral oils have 3 to 4, the flattest silicones 1.5. [-]"""


def disc(diameter: float) -> float:
    """Area of a circle."""
    return math.pi / 4 * diameter**2


def refuse_ports_beyond_their_ring(*, area: float, inner: float, outer: float) -> None:
    """Ports take no more room [mm²] than the ring that they lie on, from one diameter [mm] to the other."""
    ring = disc(outer) - disc(inner)
    if area > ring:
        raise ValueError(
            f"port_area_mm2 of at most {ring:.3g}, the whole ring from port_inner_diameter_mm to "
            f"port_outer_diameter_mm, got {area:g}; is it the area of all ports together, "
            "in mm²?"
        )


def refuse_seat_inside_ports(*, area: float, seat: float) -> None:
    """A lip [mm] goes around its ports [mm²]."""
    inside = disc(seat)
    if area > inside:
        raise ValueError(
            f"port_area_mm2 of at most {inside:.3g}, all that lies inside the lip of seat_diameter_mm "
            f"{seat:g}, got {area:g}; measure the lip around the ports"
        )


def refuse_gap_beyond_ring(*, clearance: float, diameter: float) -> None:
    """A clearance is a small part of the diameter. [mm]"""
    most = WIDEST_GAP * diameter
    if clearance > most:
        raise ValueError(
            f"clearance_mm of at most {most:.3g}, a twentieth of diameter_mm, got {clearance:g}; "
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
    if not FLATTEST <= slope(table) <= STEEPEST:
        least, most = (_thinned(cold, thick, hot, slope) for slope in (STEEPEST, FLATTEST))
        raise ValueError(
            f"a viscosity from {least:.3g} to {most:.3g} mm²/s at {hot:g} °C, as oils thin, got {thin:g}; "
            "look at the oil's sheet"
        )


def slope(table: Mapping[float, float]) -> float:
    """How steeply an oil thins: lg lg (ν + 0.7) over lg T, ASTM D341. [-]"""
    (cold, thick), (hot, thin) = sorted(table.items())
    return (_height(thick) - _height(thin)) / math.log10((hot + 273.15) / (cold + 273.15))


def _thinned(cold: float, thick: float, hot: float, slope: float) -> float:
    """Viscosity [mm²/s] at the hotter temperature of an oil of a given slope."""
    height = _height(thick) - slope * math.log10((hot + 273.15) / (cold + 273.15))
    return max(10 ** (10**height) - 0.7, 0.0)


def _height(viscosity: float) -> float:
    return math.log10(math.log10(viscosity + 0.7))
