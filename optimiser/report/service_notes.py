"""What hands need beside the stack: figures to fill the damper by, checks, figures to write down."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from damping_model.units import CENTISTOKES, celsius
from damping_model.vehicle.spring import CoilSpring
from optimiser.model.percent import share_text
from optimiser.report.service_facts import ServiceFacts
from optimiser.report.unit_system import UnitSystem


@dataclass(frozen=True, slots=True)
class ServiceNote:
    """A figure that is known, or room to write it down.

    Parameters
    ----------
    what : the quantity.
    figure : what is known of it; empty where it is to be written down.
    mind : what to hold it against.
    """

    what: str
    figure: str
    mind: str = ""


@dataclass(frozen=True, slots=True)
class ServiceNotes:
    """What stands on a sheet for the bench.

    Parameters
    ----------
    given : what the damper is filled and closed by, and how the machine stood.
    checks : to tick off before it goes back into the machine.
    measured : figures of the finished damper, to be written down.
    """

    given: tuple[ServiceNote, ...] = ()
    checks: tuple[str, ...] = ()
    measured: tuple[ServiceNote, ...] = ()


FLOAT: Final = "No float: with the nut tight no shim of the stack turns or slides by hand."
LIGHT: Final = "The face shim lies on its seat all round: no light shows between them."
FREE: Final = "Free movement: bled and closed, the shaft goes its whole stroke without binding or a gap."

MANUAL: Final = "as the maker's manual says"


NO_OTHERS: Final[Mapping[str, float]] = {}
"""No other stack is built."""


def service_notes(
    facts: ServiceFacts,
    *,
    height: float,
    opened: bool,
    units: UnitSystem,
    others: Mapping[str, float] = NO_OTHERS,
) -> ServiceNotes:
    """What to fill and close the damper by, what to check, what to measure.

    Parameters
    ----------
    facts : of the damper and its corner.
    height : of the stack to build. [m]
    opened : whether the damper is opened at all.
    units : what people read.
    others : heights of other stacks to build, by name. [m]
    """
    return ServiceNotes(
        given=tuple(_given(facts, units, opened=opened)),
        checks=(FLOAT, LIGHT, FREE) if opened else (),
        measured=tuple(_measured(facts, height, units, opened=opened, others=others)),
    )


def _given(facts: ServiceFacts, units: UnitSystem, *, opened: bool) -> Iterator[ServiceNote]:
    where = ", ".join(filter(None, (facts.corner, facts.works_in)))
    yield ServiceNote("Works at", where, f"shaft stroke {units.travel_text(facts.shaft_stroke)}")
    yield ServiceNote("Serial number", facts.assembly.serial)
    yield ServiceNote("Spring", _spring(facts, units))
    yield ServiceNote("Sag", _sag(facts, facts.sag, units), _usual(facts, units))
    if not opened:
        return
    at = f"{celsius(kelvin=facts.temperature):.0f} °C"
    level = "" if facts.assembly.oil_level is None else units.length_text(facts.assembly.oil_level)
    yield ServiceNote("Oil", facts.oil, f"{facts.viscosity / CENTISTOKES:.3g} mm²/s at {at}")
    yield ServiceNote("Oil level", level, MANUAL)
    if facts.gas_charged:
        charge = facts.assembly.gas_charge
        known = "" if charge is None else units.pressure_text(charge)
        computed = f"{MANUAL}; the figures are for {units.pressure_text(facts.gas_in_model)}"
        yield ServiceNote("Gas charge", known, computed)
    torque = facts.assembly.nut_torque
    yield ServiceNote("Torque, stack nut", "" if torque is None else units.torque_text(torque), MANUAL)


def _measured(
    facts: ServiceFacts, height: float, units: UnitSystem, *, opened: bool, others: Mapping[str, float]
) -> Iterator[ServiceNote]:
    if opened:
        yield ServiceNote("Stack height", "", f"planned {units.length_text(height)}")
        left = units.length_text(max(facts.room - height, 0.0))
        yield ServiceNote("Thread length left", "", f"by the damper's file the stack may be {left} higher")
    for name, other in others.items():
        yield ServiceNote(f"Height, {name}", "", f"planned {units.length_text(other)}")
    yield ServiceNote("Clickers, out from closed", "", "as under Adjusters")
    yield ServiceNote("Sag", "", _usual(facts, units))


def _sag(facts: ServiceFacts, sag: float | None, units: UnitSystem) -> str:
    if sag is None or facts.travel is None:
        return ""
    return f"{units.travel_text(sag)}, {share_text(sag / facts.travel)}"


def _usual(facts: ServiceFacts, units: UnitSystem) -> str:
    return f"usual {_sag(facts, facts.usual, units)}" if facts.usual is not None else "at the wheel"


def _spring(facts: ServiceFacts, units: UnitSystem) -> str:
    spring = facts.spring
    if spring is None:
        return ""
    if isinstance(spring, CoilSpring):
        return f"{units.stiffness_text(spring.stiffness)}, {units.length_text(spring.preload)} of preload"
    return f"{units.pressure_text(spring.pressure)} of air"
