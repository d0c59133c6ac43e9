"""What was measured on a machine before anybody thought of its dampers, and what it means in its geometry."""

from __future__ import annotations

from dataclasses import dataclass, replace

from damping_model.units import MILLIMETRE
from damping_model.vehicle.spring import AirSpring, CoilSpring
from optimiser.errors import InputError
from optimiser.intake.machine import AirPressure, Corner


@dataclass(frozen=True, slots=True)
class CornerBasics:
    """What was measured at one corner; None for what was not.

    Parameters
    ----------
    name : the corner.
    sag : wheel travel used by the rider sitting still. [m]
    sag_at_shaft : the same at the shaft. [m]
    sag_share : the same as a share of wheel travel. [-]
    tyre_pressure : gauge pressure. [Pa]
    free_play, leaks : whether anything rattles, whether oil or air gets out.
    pressure : of an air spring, as it stood when the sag was measured, if not the machine's usual. [Pa]
    preload, stiffness : of a coil, likewise. [m], [N/m]
    """

    name: str
    sag: float | None = None
    sag_at_shaft: float | None = None
    sag_share: float | None = None
    tyre_pressure: float | None = None
    free_play: bool | None = None
    leaks: bool | None = None
    pressure: float | None = None
    preload: float | None = None
    stiffness: float | None = None


@dataclass(frozen=True, slots=True)
class Basics:
    """What was measured before anyone opens a damper.

    Parameters
    ----------
    corners : by corner.
    hours_since_service : of the damper in question. [h]
    override_reason : why to go on although something is out of range.
    """

    corners: tuple[CornerBasics, ...] = ()
    hours_since_service: float | None = None
    override_reason: str | None = None


def as_measured(corner: Corner, values: CornerBasics) -> Corner:
    """The corner with its spring as it stood when the sag was measured.

    Raises
    ------
    InputError
        When a pressure is given for a coil, or a preload or rate for air.
    """
    spring = corner.spring
    if values.pressure is not None:
        if isinstance(spring, CoilSpring):
            raise InputError(
                f"{corner.name}: got a spring pressure, expected a preload or rate: the bike file has "
                "a coil there."
            )
        air = (
            spring.at_pressure(values.pressure)
            if isinstance(spring, AirSpring)
            else AirPressure(values.pressure)
        )
        return replace(corner, spring=air)
    if values.preload is None and values.stiffness is None:
        return corner
    if isinstance(spring, (AirSpring, AirPressure)):
        raise InputError(
            f"{corner.name}: got a preload or rate, expected a spring pressure: the bike file has air there."
        )
    stiffness = values.stiffness or (spring.stiffness if spring else None)
    if stiffness is None:
        raise InputError(f"{corner.name}: got a preload without a spring rate, expected both. Add the rate.")
    preload = values.preload if values.preload is not None else (spring.preload if spring else 0.0)
    return replace(corner, spring=CoilSpring(stiffness=stiffness, preload=preload))


def sag_of(corner: Corner, values: CornerBasics) -> float | None:
    """Sag as wheel travel, from whichever way it was measured. [m]"""
    if values.sag_at_shaft is not None:
        if values.sag_at_shaft > corner.leverage.shaft_travel_end:
            raise InputError(
                f"{corner.name}: got a sag of {values.sag_at_shaft / MILLIMETRE:g} mm at the shaft, "
                "expected less "
                f"than its travel of {corner.leverage.shaft_travel_end / MILLIMETRE:.3g} mm. Measured "
                "at the wheel?"
            )
        return corner.leverage.wheel_travel(shaft_travel=values.sag_at_shaft)
    sag = values.sag if values.sag_share is None else values.sag_share * corner.travel
    if sag is not None and sag >= corner.travel:
        raise InputError(
            f"{corner.name}: got a sag of {sag / MILLIMETRE:g} mm, "
            f"expected less than the travel of {corner.travel / MILLIMETRE:g} mm. Measure again."
        )
    return sag
