"""Lift of a stack under pressure: what the valve asks of the plates."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ConvergenceError, GeometryError
from damping_model.plates.contact import Contacts, Surroundings
from damping_model.plates.continuation import equilibrium_path
from damping_model.plates.grid import APART
from damping_model.plates.input_check import InputCheck, check_input
from damping_model.plates.state import State
from damping_model.stack.packs import PackedStack

Floats = NDArray[np.float64]

ELEMENTS: Final = 16.0
"""Elements from clamp to rim before the rims add theirs."""

STEP_END: Final = 1e-5
"""Newton ends when its last step is this share of the lift; the error left is a tenth of it at most. [-]"""

LOOSER_STEP_END: Final = 1e-4
"""The same where Newton does not come to that end; the lift is then right to some hundred-thousandths. [-]"""

CONTACT_SOFTNESS: Final = 1e-9
"""Compliance of a contact point beyond its indentation, as a share of the stiffer plate's own there. [-]"""


@dataclass(frozen=True, slots=True)
class Seat:
    """What the stack lies on and is held by.

    Dimensions are checked against the stack in :func:`lift_curve`.

    Parameters
    ----------
    clamp_radius : nothing moves within it. [m]
    seat_radius : radius of the lip, where the lift is read. [m]
    seat_height : how far the lip stands proud of the hub; negative below it. [m]
    has_seat : whether there is a lip that the face shim closes on.
    backing_radius : radius of a washer behind the stack; 0 for none. [m]
    backing_clearance : distance between the stack and that washer at rest. [m]
    """

    clamp_radius: float
    seat_radius: float
    seat_height: float = 0.0
    has_seat: bool = True
    backing_radius: float = 0.0
    backing_clearance: float = 0.0


@dataclass(frozen=True, slots=True)
class FacePressure:
    """Pressure on the face as shares of the pressure drop: linear between the radii, zero outside.

    Parameters
    ----------
    radii : rising. [m]
    shares : at each radius. [-]
    """

    radii: tuple[float, ...]
    shares: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class LiftCurve:
    """Lift of a stack at a set of pressures: what :func:`lift_curve` returns.

    Parameters
    ----------
    pressures : as asked (pressures,). [Pa]
    seat_lift : opening between lip and face shim, not negative; without a seat the rise of the face shim's
        lower face at the seat's radius (pressures,). [m]
    seat_compliance : slope of ``seat_lift`` against pressure (pressures,). [m/Pa]
    edge_lift : rise of the face shim's lower face at its rim (pressures,). [m]
    steps : Newton steps taken at each pressure (pressures,).
    radii : nodes of the grid (nodes,). [m]
    last : last node of each pack; 0 for a pack that is height only (packs,).
    contacts : where faces may meet.
    states : shapes (pressures, packs, nodes, 3) as lift [m], rotation [rad] and radial displacement [m],
        their change with pressure, contact forces per radian (pressures, points) [N/rad], and the lengths
        that faces press over inwards of rims (pressures, points) [m].
    """

    pressures: Floats
    seat_lift: Floats
    seat_compliance: Floats
    edge_lift: Floats
    steps: NDArray[np.int64]
    radii: Floats
    last: NDArray[np.int64]
    contacts: Contacts
    states: State


def lift_curve(
    packed: PackedStack,
    *,
    seat: Seat,
    load: FacePressure,
    pressures: NDArray[np.float64],
    start: LiftCurve | None = None,
    elements: float = ELEMENTS,
    softness: float = CONTACT_SOFTNESS,
    tolerance: float = STEP_END,
    exact_slope: bool = True,
) -> LiftCurve:
    """Lift of a stack at each of the pressures.

    The first call in a fresh installation compiles, which takes about half a minute: see
    :func:`damping_model.stack.warm_up.is_compiled`.

    Parameters
    ----------
    packed : the stack as plates.
    seat : what it lies on and is held by.
    load : where the pressure acts.
    pressures : in any order, not negative. [Pa]
    start : answer of a similar stack at as many pressures, in the same order, to start from.
    elements : elements of equal size that clamp to rim would take; rims add theirs. [-]
    softness : compliance of a contact point beyond its indentation, as a share of the plates' own there. [-]
    tolerance : last Newton step as a share of the lift; where that is not reached, :data:`STEP_END`, then
        :data:`LOOSER_STEP_END`. [-]
    exact_slope : whether the change with pressure is to be as true as the lift; without, to some per cent,
        which spares an eighth of the time.

    Returns
    -------
    LiftCurve

    Raises
    ------
    GeometryError
        When seat, load and stack do not fit one another.
    ConvergenceError
        When a pressure could not be reached, with the figures.

    Notes
    -----
    Axisymmetric von Karman and Mindlin plates in contact, equations (1) to (18) of the model page, with their
    sources there.

    Examples
    --------
    A shim clamped at half its radius a under even pressure p lifts at its rim by 0.0085886 p a^4/D: Roark's
    Formulas for Stress and Strain, 7th ed., Table 11.2, case 2l, without shear.

    >>> from damping_model.stack.packs import pack_stack
    >>> from damping_model.stack.stack import Shim, Stack
    >>> from damping_model.stack.steel import SpringSteel
    >>> steel, shim = SpringSteel(), Stack((Shim(20e-3, 0.2e-3, 10e-3),))
    >>> curve = lift_curve(
    ...     pack_stack(shim, clamp_radius=5e-3, steel=steel, thin=True),
    ...     seat=Seat(5e-3, 9e-3, has_seat=False),
    ...     load=FacePressure((5e-3, 10e-3), (1.0, 1.0)),
    ...     pressures=np.array([1e3, 1e6]),
    ... )
    >>> small, large = curve.edge_lift * steel.bending(thickness=0.2e-3) / (curve.pressures * 10e-3**4)
    >>> print(small)
    0.008589

    At 10 bar stretching counts and leaves two thirds of that:

    >>> print(large)
    0.00566
    """
    asked = np.array(pressures, dtype=float)
    packs = packed.rows
    seen = check_input(packs, float(seat.clamp_radius), asked.ravel())
    _check(packs, seen, seat, load, asked)
    order = None if seen.rising else np.argsort(asked, kind="stable")
    neighbour = _NOTHING
    if start is not None and start.pressures.size == asked.size:
        neighbour = start.states if order is None else _in_order(start.states, order)
    for step_end in sorted({max(tolerance, end) for end in (tolerance, STEP_END, LOOSER_STEP_END)}):
        found = equilibrium_path(
            float(seat.clamp_radius),
            float(packed.poisson_ratio),
            packs,
            float(packed.face_thickness),
            np.array(load.radii, dtype=float),
            np.array(load.shares, dtype=float),
            _surroundings(packed, seat),
            asked if order is None else asked[order],
            float(elements),
            float(softness),
            float(step_end),
            bool(exact_slope),
            neighbour,
        )
        if found.reached == asked.size:
            break
    else:
        k = found.reached
        raise ConvergenceError(
            f"no equilibrium found at {np.sort(asked)[k] * 1e-5:.4g} bar ({k} of {asked.size} pressures "
            f"reached) for a stack of {len(packs)} packs. Check its dimensions, or ask for a lower "
            "pressure."
        )
    states, lift, slope, edge, steps = found.states, found.lift, found.slope, found.edge, found.steps
    if order is not None:
        back = np.argsort(order, kind="stable")
        states, lift, slope, edge, steps = (
            _in_order(states, back), lift[back], slope[back], edge[back], steps[back]
        )  # fmt: skip
    return LiftCurve(asked, lift, slope, edge, steps, found.r, found.last, found.contacts, states)


_NOTHING: Final = State(
    np.zeros((0, 0, 0, 3)),
    np.zeros((0, 0, 0, 3)),
    np.zeros((0, 0)),
    np.zeros((0, 0), np.bool_),
    np.zeros((0, 0)),
)


def _in_order(states: State, order: NDArray[np.int64]) -> State:
    return State(
        states.q[order], states.dq[order], states.force[order], states.active[order], states.length[order]
    )


_NO_RINGS: Final = np.zeros((0, 4))


def _surroundings(packed: PackedStack, seat: Seat) -> Surroundings:
    rings = [(r.centring, r.inner_radius, r.outer_radius, r.height) for r in packed.rings]
    return Surroundings(
        np.array(rings, dtype=float) if rings else _NO_RINGS,
        float(seat.has_seat),
        float(seat.seat_radius),
        float(seat.seat_height),
        float(seat.backing_radius),
        float(seat.backing_clearance),
        0.0 if packed.thin else 1.0,
        float(packed.indentation),
    )


def _check(packs: Floats, seen: InputCheck, seat: Seat, load: FacePressure, pressures: Floats) -> None:
    if not seen.packs:
        raise GeometryError(
            "got a pack with a value below 0 or no number, expected radius, stiffness and height."
        )
    if seen.face < 0:
        raise GeometryError(
            f"got no pack that is wider than the clamp of {seat.clamp_radius * 2e3:g} mm and has stiffness, "
            "expected at least the face pack."
        )
    rim = packs[seen.face, 0]
    if not 0 < seat.clamp_radius + APART < seat.seat_radius <= rim + APART:
        raise GeometryError(
            f"got a seat of {seat.seat_radius * 2e3:g} mm diameter, expected it between the clamp of "
            f"{seat.clamp_radius * 2e3:g} mm and the face shim's rim of {rim * 2e3:g} mm."
        )
    if seat.backing_radius < 0 or seat.backing_clearance < 0:
        raise GeometryError(
            f"got a backing washer of {seat.backing_radius * 2e3:g} mm at {seat.backing_clearance * 1e3:g} "
            "mm, expected neither below 0."
        )
    if pressures.ndim != 1 or not seen.pressures:
        raise GeometryError("got no pressures, or one that is negative or no number, expected 0 bar or more.")
    radii = load.radii
    if len(radii) != len(load.shares) or len(radii) < 2 or any(b < a for a, b in pairwise(radii)):
        raise GeometryError(
            f"got the face pressure at radii {[r * 1e3 for r in radii]} mm with {len(load.shares)} shares, "
            "expected at least two radii, rising, with a share each."
        )
