"""From a stack's place in a damper file to the place that rules, plates and drawings know."""

from __future__ import annotations

from damping_model.stack.lift import Seat
from damping_model.stack.stack import Stack
from damping_model.units import MILLIMETRE
from optimiser.files.damper_file import StackSection
from optimiser.files.stack_text import shims_from_lines
from optimiser.model.rules import Mounting


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
    )


def seat_of(section: StackSection) -> Seat:
    """What the stack lies on and is held by."""
    return Seat(
        clamp_radius=section.clamp_diameter_mm * MILLIMETRE / 2,
        seat_radius=section.seat_diameter_mm * MILLIMETRE / 2,
        seat_height=section.seat_proud_mm * MILLIMETRE,
    )
