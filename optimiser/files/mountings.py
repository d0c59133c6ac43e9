"""From a stack's place in a damper file to the place that rules, plates and drawings know."""

from __future__ import annotations

from typing import Final

from damping_model.stack.lift import Seat
from damping_model.stack.stack import Stack
from damping_model.units import MILLIMETRE
from optimiser.files.damper_sections import StackSection
from optimiser.files.stack_text import shims_from_lines
from optimiser.model.rules import Mounting

CROSSOVER_SHARE: Final = 0.25
"""How far from the clamp to the face shim a crossover reaches at least; common practice, no source. [-]"""


def stack_of(section: StackSection) -> Stack:
    """The shims of a stack, from the piston outwards."""
    return Stack(tuple(key.shim for key in shims_from_lines(section.shims, hole_mm=section.hole_mm)))


def mounting_of(section: StackSection) -> Mounting:
    """The place that a stack is bolted to."""
    return Mounting(
        hole_diameter=section.hole_mm * MILLIMETRE,
        port_outer_radius=section.port_outer_diameter_mm * MILLIMETRE / 2,
        seat_radius=section.seat_diameter_mm * MILLIMETRE / 2,
        bore_radius=section.bore_diameter_mm * MILLIMETRE / 2,
        clamp_diameter=section.clamp_diameter_mm * MILLIMETRE,
        most_height=section.room_mm * MILLIMETRE,
        least_crossover=_least_crossover(section) * MILLIMETRE,
    )


def _least_crossover(section: StackSection) -> float:
    """Given, or part of the way from the clamp to the face shim. [mm]"""
    if section.least_crossover_mm is not None:
        return section.least_crossover_mm
    face = stack_of(section).shims[0].outer_diameter / MILLIMETRE
    return section.clamp_diameter_mm + CROSSOVER_SHARE * max(face - section.clamp_diameter_mm, 0.0)


def seat_of(section: StackSection) -> Seat:
    """What the stack lies on and is held by."""
    return Seat(
        clamp_radius=section.clamp_diameter_mm * MILLIMETRE / 2,
        seat_radius=section.seat_diameter_mm * MILLIMETRE / 2,
        seat_height=section.seat_proud_mm * MILLIMETRE,
    )
