"""Ports that a shim stack closes: ports, lip and stack as one path."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from damping_model.errors import GeometryError
from damping_model.flow.checks import check_direction, check_discharge, check_share, not_negative, positive
from damping_model.flow.oil import OilState
from damping_model.flow.orifice import Curtain, Resistance, curtain, hole
from damping_model.stack.altered_plates import stiffened
from damping_model.stack.friction import extra_load
from damping_model.stack.lift import FacePressure, Seat
from damping_model.stack.packs import PackedStack, pack_stack
from damping_model.stack.stack import Shim, Stack
from damping_model.stack.steel import SpringSteel

LEAST_STIFFNESS: Final = 0.05
"""Share of its stiffness that friction leaves a closing stack. [-]"""

SAME_THICKNESS: Final = 1e-9
"""Nominal thicknesses closer than this are one. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShimValve:
    r"""Ports that a stack closes and pressure opens, one way.

    Parameters
    ----------
    name : of the stack's place.
    direction : 1 if it opens for flow from the valve's first chamber to its second, -1 for the other way.
    port_area : narrowest area of all ports together. [m^2]
    port_count : how many ports share it.
    port_length : of each port. [m]
    port_inner_radius, port_outer_radius : the ring on the piston's face that the oil presses on. [m]
    seat : what the stack lies on and is held by.
    stack : the shims.
    port_discharge, curtain_discharge : coefficients in turbulent flow; common practice, no source. [-]
    open_share : share of the lip's circumference that oil can leave by. [-]
    momentum : whether the head of the ports' jet, :math:`\rho u^2/2`, presses on the face shim beside the
        pressure.
    real_thicknesses : nominal thicknesses of shims with what they really have here, where it was told; a shim
        of any other has its own. [m]
    interface_load : load that friction adds at each interface of shims that bend, as a share of the load
        without it, as parallel disc springs have it (EN 16984); below 0 while the stack closes. [-]

    Raises
    ------
    GeometryError
        When ports, lip and clamp do not fit one another, with the name of the stack's place.

    Notes
    -----
    Equation (28).
    The stack feels the pressure at the ports' exit, not the whole drop: the ports have lost theirs by then.
    That pressure falls off in a straight line across the land, from ``port_outer_radius`` to the lip.
    """

    name: str
    direction: int
    port_area: float
    port_count: int
    port_length: float
    port_inner_radius: float
    port_outer_radius: float
    seat: Seat
    stack: Stack
    port_discharge: float = 0.8
    curtain_discharge: float = 0.7
    open_share: float = 1.0
    momentum: bool = False
    real_thicknesses: tuple[tuple[float, float], ...] = ()
    interface_load: float = 0.0

    def __post_init__(self) -> None:
        """Refuse ports, lip and clamp that do not fit one another."""
        check_direction(self.name, self.direction, both=False)
        positive(self.name, "port area", self.port_area)
        not_negative(self.name, "port length", self.port_length)
        check_discharge(self.name, self.port_discharge)
        check_discharge(self.name, self.curtain_discharge)
        check_share(self.name, self.open_share)
        if self.port_count < 1:
            raise GeometryError(f"'{self.name}': got {self.port_count} ports, expected 1 or more.")
        radii = (
            ("clamp", self.seat.clamp_radius),
            ("ports' inner", self.port_inner_radius),
            ("ports' outer", self.port_outer_radius),
            ("seat", self.seat.seat_radius),
        )
        ordered = 0 < radii[0][1] <= radii[1][1] < radii[2][1] <= radii[3][1]
        if not ordered:
            got = ", ".join(f"{what} {radius * 2e3:g} mm" for what, radius in radii)
            raise GeometryError(
                f"'{self.name}': got the diameters {got}, expected them to rise in this order."
            )
        if not self.seat.has_seat:
            raise GeometryError(f"'{self.name}': got no seat, expected a lip that the face shim closes on.")

    @property
    def face_pressure(self) -> FacePressure:
        """Where oil presses on the face shim."""
        if self.port_outer_radius == self.seat.seat_radius:
            return FacePressure(radii=(self.port_inner_radius, self.port_outer_radius), shares=(1.0, 1.0))
        return FacePressure(
            radii=(self.port_inner_radius, self.port_outer_radius, self.seat.seat_radius),
            shares=(1.0, 1.0, 0.0),
        )

    def packed(self, stack: Stack, *, steel: SpringSteel) -> PackedStack:
        """The plates that a stack of nominal shims amounts to in this place."""
        packed = pack_stack(self.as_it_is(stack), clamp_radius=self.seat.clamp_radius, steel=steel)
        if not self.interface_load:
            return packed
        bending = sum(shim.outer_diameter / 2 > self.seat.clamp_radius for shim in stack.shims)
        return stiffened(packed, factor=max(1 + self.interface_load * (bending - 1), LEAST_STIFFNESS))

    def as_it_is(self, stack: Stack) -> Stack:
        """A stack of nominal shims as thick as they really are here."""
        if not self.real_thicknesses:
            return stack
        return Stack(tuple(self._real(shim) for shim in stack.shims))

    def _real(self, shim: Shim) -> Shim:
        for nominal, real in self.real_thicknesses:
            if abs(shim.thickness - nominal) < SAME_THICKNESS:
                return replace(shim, thickness=real)
        return shim

    def load_of_interface(self, *, coefficient: float, steel: SpringSteel) -> float:
        """Load that friction would add at an interface of two of the face shim, as a share. [-]"""
        face = self.stack.shims[0]
        return extra_load(
            face=face, seat=self.seat, load=self.face_pressure, steel=steel, coefficient=coefficient
        )

    def ports(self, *, oil: OilState) -> Resistance:
        """Resistance of the ports."""
        return hole(
            area=self.port_area,
            oil=oil,
            length=self.port_length,
            count=self.port_count,
            discharge=self.port_discharge,
        )

    def curtain(self, *, oil: OilState) -> Curtain:
        """The gap between lip and face shim."""
        return curtain(
            seat_radius=self.seat.seat_radius,
            land_radius=self.port_outer_radius,
            open_share=self.open_share,
            discharge=self.curtain_discharge,
            oil=oil,
        )
