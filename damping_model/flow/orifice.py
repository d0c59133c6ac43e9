r"""Laws of flow through holes, slots and gaps, each as two resistances: one to slow flow, one to fast flow.

Every law here has the form (20), :math:`\Delta p = a Q + b Q|Q|`: the exact resistance to creeping flow and
the constant discharge coefficient of turbulent flow are its two limits, the way between is smooth, and it
inverts in closed form. The short-tube law :math:`C_d = [2.28 + 64 L/(Re\,d)]^{-1/2}` of [1]_, eq. 2.41, has
the same form.

References
----------
.. [1] M. G. Rabie, *Fluid Power Engineering*, McGraw-Hill, 2009, ch. 2.
.. [2] R. A. Sampson, "On Stokes's current function", Phil. Trans. R. Soc. A 182 (1891) 449-518.
.. [3] Z. Dagan, S. Weinbaum and R. Pfeffer, "An infinite-series solution for the creeping motion through an
   orifice of finite length", J. Fluid Mech. 115 (1982) 505-523.
.. [4] A. Lichtarowicz, R. K. Duggins and E. Markland, "Discharge coefficients for incompressible
   non-cavitating flow through long orifices", J. Mech. Eng. Sci. 7 (1965) 210-219.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from damping_model.errors import GeometryError
from damping_model.flow.oil import OilState

SHARP_DISCHARGE: Final = math.pi / (math.pi + 2)
"""Discharge coefficient of a small sharp-edged orifice, 0.611; [1]_ eqs 2.36 to 2.39. [-]"""

REATTACHED_LENGTH: Final = 1.5
"""Length over diameter from which a jet is taken to fill its tube again; common practice, no source. [-]"""

_MOST = math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Resistance:
    """A path that resists flow by ``linear`` Q + ``quadratic`` Q|Q|.

    Parameters
    ----------
    linear : resistance to creeping flow; infinite for a path that is shut. [Pa s/m^3]
    quadratic : resistance to turbulent flow. [Pa s^2/m^6]
    """

    linear: float
    quadratic: float = 0.0

    def flow(self, *, dp: float) -> float:
        """Flow driven by a pressure drop [Pa]; odd in it. [m^3/s]"""
        if math.isinf(self.linear):
            return 0.0
        root = math.sqrt(self.linear**2 + 4 * self.quadratic * abs(dp))
        return 2 * dp / (self.linear + root)

    def pressure_drop(self, *, flow: float) -> float:
        """Pressure drop that drives a flow [m^3/s]. [Pa]"""
        return self.linear * flow + self.quadratic * flow * abs(flow) if flow else 0.0


SHUT: Final = Resistance(linear=_MOST)
"""A path that lets nothing through."""


def tube_discharge(*, length: float, diameter: float) -> float:
    """Discharge coefficient of a drilled hole in turbulent flow, by its length. [-]

    Parameters
    ----------
    length : of the hole. [m]
    diameter : of the hole. [m]

    Notes
    -----
    0.827 - 0.0085 L/d where the jet fills the hole again ([4]_; the constants were not checked against the
    print), 0.611 for no length, a smooth step between: shape and end of that step are common practice, no
    source. Equation (25).

    Examples
    --------
    >>> tube_discharge(length=0.0, diameter=1e-3), tube_discharge(length=3e-3, diameter=1e-3)
    (0.611, 0.8015)
    """
    ratio = length / diameter
    part = min(ratio / REATTACHED_LENGTH, 1.0)
    filled = max(0.827 - 0.0085 * ratio, 0.5)
    return SHARP_DISCHARGE + (filled - SHARP_DISCHARGE) * part * part * (3 - 2 * part)


def hole(
    *, area: float, oil: OilState, length: float = 0.0, count: int = 1, discharge: float | None = None
) -> Resistance:
    r"""Resistance of round holes in parallel.

    Parameters
    ----------
    area : of all holes together; 0 is shut. [m^2]
    oil : what flows.
    length : of each hole. [m]
    count : how many holes share the area.
    discharge : coefficient in turbulent flow; by length when not given, see :func:`tube_discharge`. [-]

    Notes
    -----
    Creeping flow: :math:`\Delta p = \mu Q (3 + 8L/\pi a)/a^3` for radius a, exact without length [2]_, within
    1 % with it [3]_. As a loss coefficient that is (37.7 + 64 L/d)/Re. Equation (21).

    Examples
    --------
    A bleed of 1.5 mm, 2 mm long, that passes 49.4 cm³/s of warm oil takes 5.28 bar, 5.14 of them for the jet:

    >>> oil = OilState(density=842.2, dynamic_viscosity=12.296e-3, vapour_pressure=1e3)
    >>> bleed = hole(area=math.pi / 4 * 1.5e-3**2, oil=oil, length=2e-3, discharge=0.8)
    >>> bleed.pressure_drop(flow=49.40e-6) / 1e5
    5.283
    >>> bleed.quadratic * 49.40e-6**2 / 1e5
    5.142
    """
    if area <= 0:
        return SHUT
    radius = math.sqrt(area / count / math.pi)
    if discharge is None:
        discharge = tube_discharge(length=length, diameter=2 * radius)
    return Resistance(
        linear=oil.dynamic_viscosity * (3 + 8 * length / (math.pi * radius)) / radius**3 / count,
        quadratic=oil.density / (2 * (discharge * area) ** 2),
    )


def annular_leak(
    *, diameter: float, clearance: float, length: float, eccentricity: float, oil: OilState
) -> Resistance:
    r"""Resistance of the narrow gap around a ring or bushing, laminar.

    Parameters
    ----------
    diameter : of the gap. [m]
    clearance : radial, when centred. [m]
    length : along the flow. [m]
    eccentricity : offset over clearance: 0 centred, 1 touching. [-]
    oil : what flows.

    Notes
    -----
    :math:`Q = \pi D c^3 (1 + 1.5\varepsilon^2)\,\Delta p/(12\mu L)`, [1]_ eq. 2.19 and the factor 2.5 of a
    touching piston. Loss at the entry is left out: at the clearance of piston rings it is under a thousandth.
    Equation (22).

    Examples
    --------
    A gap of 12 µm around a piston of 27 mm, 4 mm long, half eccentric, at half a cubic centimetre a second:

    >>> oil = OilState(density=842.2, dynamic_viscosity=12.296e-3, vapour_pressure=1e3)
    >>> gap = annular_leak(diameter=27e-3, clearance=12e-6, length=4e-3, eccentricity=0.5, oil=oil)
    >>> gap.pressure_drop(flow=494e-9) / 1e5  # bar
    14.47
    """
    return Resistance(
        linear=12
        * oil.dynamic_viscosity
        * length
        / (math.pi * diameter * clearance**3 * (1 + 1.5 * eccentricity**2))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Curtain:
    r"""The gap between a lip and the plate that rises from it; its resistance falls with the lift h.

    Parameters
    ----------
    film : resistance of the film over the land is ``film`` / h^3. [Pa s]
    edge : resistance of the slit's edges to creeping flow is ``edge`` / h^2. [Pa s/m]
    jet : resistance to turbulent flow is ``jet`` / h^2. [Pa s^2/m^4]

    Notes
    -----
    Film (23): exact radial lubrication, :math:`Q = \pi h^3 \Delta p / (6\mu\ln(r_2/r_1))`. Edges (24):
    creeping flow through a plane slit, :math:`Q = \pi h^2 w\Delta p/(32\mu)`, the law behind the transition
    number 15.1 of slits in H. E. Merritt, *Hydraulic Control Systems*, Wiley, 1967. Jet: an orifice of area
    w h.
    """

    film: float
    edge: float
    jet: float

    def at(self, *, lift: float) -> Resistance:
        """Resistance at a lift [m]."""
        if lift <= 0:
            return SHUT
        return Resistance(linear=self.film / lift**3 + self.edge / lift**2, quadratic=self.jet / lift**2)


def curtain(
    *, seat_radius: float, land_radius: float, open_share: float, discharge: float, oil: OilState
) -> Curtain:
    """Curtain of a plate that lifts off a round lip.

    Parameters
    ----------
    seat_radius : outer radius of the lip. [m]
    land_radius : radius where the land begins, not more than ``seat_radius``. [m]
    open_share : share of the circumference that oil can leave by. [-]
    discharge : coefficient in turbulent flow. [-]
    oil : what flows.
    """
    if not 0 < land_radius <= seat_radius:
        raise GeometryError(
            f"got a land from {land_radius * 2e3:g} to {seat_radius * 2e3:g} mm across, expected it to widen."
        )
    width = 2 * math.pi * seat_radius * open_share
    return Curtain(
        film=6 * oil.dynamic_viscosity * math.log(seat_radius / land_radius) / (math.pi * open_share),
        edge=32 * oil.dynamic_viscosity / (math.pi * width),
        jet=oil.density / (2 * (discharge * width) ** 2),
    )
