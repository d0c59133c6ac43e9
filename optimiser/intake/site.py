"""Where a damper is to work: one corner of a machine under a rider, at the usual sag."""

from __future__ import annotations

from optimiser.errors import InputError
from optimiser.intake.basics import Ranges
from optimiser.intake.felt import FeltPlace, felt_place
from optimiser.intake.machine import Corner, Machine, Rider
from optimiser.intake.nearest_tune import TuneSite


def usual_sag(machine: Machine, corner: Corner, ranges: Ranges) -> float | None:
    """The middle of the usual range of sag, as wheel travel; None when there is no such range. [m]"""
    usual = corner.sag or ranges.of(machine.kind).sag.get(corner.end)
    return None if usual is None else (usual[0] + usual[1]) / 2 * corner.travel


def corner_for(machine: Machine, name: str | None, *, stroke: float | None = None) -> Corner:
    """The corner that is named, or the only one, or the only one that a damper of a stroke [m] works.

    Raises
    ------
    InputError
        When that leaves none, or several.
    """
    if name is not None:
        return machine.corner(name)
    fitting = machine.corners if stroke is None else machine.corners_worked_by(stroke=stroke)
    if len(fitting) == 1:
        return fitting[0]
    names = ", ".join(corner.name for corner in machine.corners)
    raise InputError(f"got no --corner, expected one of {names} of {machine.name}. Say which wheel.")


def site_of(name: str, machine: Machine, corner: Corner, rider: Rider, ranges: Ranges) -> TuneSite:
    """One end of a comparison of tunes, with its wheel rate where spring and sag are known."""
    place = place_at_usual_sag(machine, corner, rider, ranges)
    mass = machine.sprung_mass(corner, rider)
    if mass <= 0:
        raise InputError(
            f"{machine.name}, {corner.name}: got a load of {mass:.1f} kg on the spring, "
            "expected more than 0. Check load_share and unsprung_mass_kg."
        )
    return TuneSite(name, corner.leverage, mass, None if place is None else place.wheel_rate)


def place_at_usual_sag(machine: Machine, corner: Corner, rider: Rider, ranges: Ranges) -> FeltPlace | None:
    """Where damping is felt at the usual sag; None where spring, mass or sag are unknown."""
    sag = usual_sag(machine, corner, ranges)
    return None if sag is None else felt_place(machine, rider, corner, sag=sag)
