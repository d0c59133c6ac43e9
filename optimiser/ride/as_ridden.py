"""A rider's machine as it can ride: what its file has, and usual figures, named, where it has none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from damping_model.ride.at_the_wheel import WheelTable
from damping_model.ride.damping_curve import DampingCurve
from damping_model.ride.machine import Body, RidingMachine, Stop, Suspension, Tyre
from damping_model.units import STANDARD_GRAVITY
from damping_model.vehicle.leverage import LeverageCurve
from damping_model.vehicle.spring import AirSpring, CoilSpring
from optimiser.errors import InputError
from optimiser.intake.machine import AirPressure, Corner, Machine, Rider
from optimiser.model.percent import share_text
from optimiser.model.unmeasured import Unmeasured
from optimiser.ride.events import UsualFigure

STOP_DAMPING: Final = 0.2
"""Of end-of-travel and top-out springs; common practice, no source. [s/m]"""

METAL: Final = (20.0, 3e-3)
"""The end itself: loads at rest, and how far it gives way under them; common practice, no source. [-], [m]"""

REBOUND_SHARE: Final = 1.5
"""Rebound over compression damping where nobody described the damper; common practice, no source. [-]"""

PLAUSIBLE_SAG: Final = (0.03, 0.55)
"""Shares of travel; a spring that rests elsewhere is said. [-]"""

FRONT: Final = "front"


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnDamper:
    """The damper of a job as a ride needs it.

    Parameters
    ----------
    damping : its curve.
    gas_force : constant push on its shaft. [N]
    friction : of its seals. [N]
    """

    damping: DampingCurve
    gas_force: float
    friction: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AsRidden:
    """A machine that can ride.

    Parameters
    ----------
    machine : body and corners, the front one first.
    own : place of the corner whose damper is looked at.
    corners : their names.
    mass : of machine and rider on these corners, as one side of a machine with two wheels an end. [kg]
    rider_mass : the rider's part of it. [kg]
    wheelbase, mass_height, wheel_radius : [m]
    anti_squat : of the rear, as a share. [-]
    rear : whether each corner is one of the rear.
    taken : figures that nobody measured.
    said : what else its figures rest on, in sentences.
    """

    machine: RidingMachine
    own: int
    corners: tuple[str, ...]
    mass: float
    rider_mass: float
    wheelbase: float
    mass_height: float
    wheel_radius: float
    anti_squat: float
    rear: tuple[bool, ...]
    taken: tuple[Unmeasured, ...] = ()
    said: tuple[str, ...] = ()


@dataclass(slots=True)
class _Taken:
    """Usual figures as they are taken, each named once."""

    usual: Mapping[str, UsualFigure]
    named: dict[str, Unmeasured] = field(default_factory=dict)
    said: list[str] = field(default_factory=list)

    def figure(self, name: str, what: str, *, measured: float | None = None) -> float:
        """What the machine's file has, else what is usual."""
        if measured:
            return measured
        usual = self.usual[name]
        self.named[what] = Unmeasured(what, usual.off)
        return usual.value


def as_ridden(
    machine: Machine,
    rider: Rider,
    corner: Corner,
    *,
    damper: OwnDamper,
    usual: Mapping[str, UsualFigure],
    sag: float,
    sag_measured: bool,
    both_ends: bool,
) -> AsRidden:
    """A machine with a damper in one corner.

    Parameters
    ----------
    machine, rider : whose.
    corner : that the damper works, with its spring as it is ridden.
    damper : what works there.
    usual : figures of its kind.
    sag : at which an unknown spring is taken to carry its load, as wheel travel. [m]
    sag_measured : whether somebody measured it.
    both_ends : whether the other end is to move, too; left out where the machine has none.

    Raises
    ------
    InputError
        When nothing is left for the spring to carry.
    """
    taken = _Taken(usual)
    ends = [corner]
    other = next((one for one in machine.corners if one.end != corner.end), None)
    if both_ends and other is not None:
        ends = [other, corner] if corner.end != FRONT and other.end == FRONT else [corner, other]
    parts, shares, alike = [], [], []
    for end in ends:
        load = end.load_share * (machine.mass + rider.mass)
        unsprung = end.unsprung_mass or load * taken.figure("unsprung", f"unsprung mass {end.name}")
        sprung = load - unsprung
        if sprung <= 0:
            raise InputError(
                f"{machine.name}, {end.name}: got a load of {sprung:.1f} kg on the spring, expected more "
                "than 0. Check load_share and unsprung_mass_kg."
            )
        known = damper if end is corner else None
        at = sag if end is corner else _usual_place(end)
        parts.append(_suspension(end, sprung, unsprung, known, at, sag_measured and end is corner, taken))
        shares.append(sprung)
        alike.append(sum(one.end == end.end for one in machine.corners))
    wheelbase = taken.figure("wheelbase", "wheelbase", measured=machine.wheelbase)
    height = taken.figure("mass_height", "height of the centre of mass", measured=machine.mass_height)
    inertia = None
    if len(parts) == 2:
        index = taken.figure("pitch_index", "pitch inertia")
        inertia = index * shares[0] * shares[1] / sum(shares) * wheelbase**2
    side = max(alike)
    return AsRidden(
        machine=RidingMachine(
            body=Body(shares=tuple(shares), wheelbase=wheelbase, pitch_inertia=inertia), corners=tuple(parts)
        ),
        own=ends.index(corner),
        corners=tuple(end.name for end in ends),
        mass=(machine.mass + rider.mass) / side,
        rider_mass=rider.mass / side,
        wheelbase=wheelbase,
        mass_height=height,
        wheel_radius=taken.figure(
            "wheel_radius", f"wheel radius {corner.name}", measured=corner.wheel_radius
        ),
        anti_squat=_anti_squat(ends, taken),
        rear=tuple(end.end != FRONT for end in ends),
        taken=tuple(taken.named.values()),
        said=tuple(taken.said),
    )


def _anti_squat(ends: list[Corner], taken: _Taken) -> float:
    rear = next((end for end in ends if end.end != FRONT), None)
    if rear is None:
        return 0.0
    if rear.anti_squat is None:
        taken.said.append("anti-squat is not known and taken as none")
        return 0.0
    return rear.anti_squat


def _usual_place(end: Corner) -> float:
    """Sag of an end that nobody asks about, as wheel travel. [m]"""
    share = 0.27 if end.sag is None else sum(end.sag) / 2
    return share * end.travel


def _suspension(
    end: Corner,
    sprung: float,
    unsprung: float,
    damper: OwnDamper | None,
    sag: float,
    sag_measured: bool,
    taken: _Taken,
) -> Suspension:
    load, curve = sprung * STANDARD_GRAVITY, end.leverage
    gas = 0.0 if damper is None else damper.gas_force
    spring = _spring(end, load, gas, sag, sag_measured, taken)
    pushes = (spring.force(shaft_travel=0.0) + gas) * curve.motion_ratio(wheel_travel=0.0)
    softness = taken.figure("top_out", "top-out spring")
    starts = taken.figure("end_spring_from", "where the end-of-travel spring begins") * curve.wheel_travel_end
    room = curve.wheel_travel_end - starts
    part = Suspension(
        leverage=curve,
        spring=spring,
        gas_force=gas,
        damping=DampingCurve.linear(1.0) if damper is None else damper.damping,
        friction=0.0 if damper is None else damper.friction,
        unsprung_mass=unsprung,
        tyre=Tyre(
            rate=taken.figure("tyre_rate", f"tyre rate {end.name}"),
            damping=taken.figure("tyre_damping", f"tyre damping {end.name}"),
        ),
        top_out=Stop(start=0.0, stiffness=max(pushes, 0.3 * load) / softness**2, damping=STOP_DAMPING),
        end_spring=Stop(
            start=starts,
            stiffness=taken.figure("end_spring_force", "end-of-travel spring") * load / room**2,
            damping=STOP_DAMPING,
        ),
        end=Stop(
            start=curve.wheel_travel_end, stiffness=METAL[0] * load / METAL[1] ** 2, damping=STOP_DAMPING
        ),
    )
    rests = WheelTable.of(part).rest(load)
    if damper is None:
        return _with_usual_damping(part, sprung, rests, taken, end)
    least, most = (share * end.travel for share in PLAUSIBLE_SAG)
    if not least <= rests <= most:
        taken.said.append(
            f"by its spring and load, {end.name} rests at {share_text(rests / end.travel)} of its travel; "
            "check spring, preload and load_share"
        )
    return part


def _with_usual_damping(
    part: Suspension, sprung: float, rests: float, taken: _Taken, end: Corner
) -> Suspension:
    """The corner whose damper nobody described, by a damping ratio."""
    curve, at = part.leverage, min(max(rests, 0.0), part.leverage.wheel_travel_end)
    shaft = curve.shaft_travel(wheel_travel=at)
    rate = curve.wheel_rate(
        spring_rate=part.spring.rate(shaft_travel=shaft),
        spring_force=part.spring.force(shaft_travel=shaft),
        wheel_travel=at,
    )
    ratio = taken.figure("other_damping", f"damping {end.name}")
    at_wheel = 2 * ratio * (max(rate, 1.0) * sprung) ** 0.5
    at_shaft = at_wheel / curve.motion_ratio(wheel_travel=at) ** 2
    return replace(part, damping=DampingCurve.linear(at_shaft, rebound=REBOUND_SHARE * at_shaft))


def _spring(
    end: Corner, load: float, gas: float, sag: float, sag_measured: bool, taken: _Taken
) -> CoilSpring | AirSpring:
    """The spring of a corner; one that carries its load at the sag where it is not known."""
    if isinstance(end.spring, (CoilSpring, AirSpring)):
        return end.spring
    curve = end.leverage
    shaft = curve.shaft_travel(wheel_travel=sag)
    force = max(load / curve.motion_ratio(wheel_travel=sag) - gas, 0.1 * load)
    where = "measured" if sag_measured else "usual"
    taken.named[f"spring {end.name}"] = Unmeasured(f"spring {end.name}", 0.1 if sag_measured else 0.25)
    taken.said.append(
        f"the spring {end.name} is taken as one that carries its load at {share_text(sag / end.travel)} of "
        f"travel, the {where} sag"
    )
    if isinstance(end.spring, AirPressure):
        return _air(curve, force, shaft, end.spring.pressure, taken.usual["air_compression"].value)
    return CoilSpring(stiffness=force / shaft)


def _air(curve: LeverageCurve, force: float, shaft: float, pressure: float, compression: float) -> AirSpring:
    """Air of a known pressure and a usual compression, with the piston that carries the force at a place."""
    stroke = curve.shaft_travel_end
    column = stroke * compression / (compression - 1)
    one = AirSpring(pressure=pressure, area=1e-3, volume=1e-3 * column, negative_volume=1e-3 * stroke * 0.25)
    area = 1e-3 * force / one.force(shaft_travel=shaft)
    return AirSpring(pressure=pressure, area=area, volume=area * column, negative_volume=area * stroke * 0.25)
