"""A ride in time: from a machine and what is done to it to the motion of body and wheels."""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import ODEintWarning, odeint, solve_ivp

from damping_model.errors import ConvergenceError, GeometryError
from damping_model.ride.at_the_wheel import WheelTable
from damping_model.ride.inputs import STEP, CornerInput
from damping_model.ride.kernel import LEDGER, motion, observe
from damping_model.ride.machine import RidingMachine
from damping_model.ride.ride_motion import RideMotion
from damping_model.units import STANDARD_GRAVITY

Floats = NDArray[np.float64]

RELATIVE: Final = 1e-8
"""Tolerance of the integration. [-]"""

ABSOLUTE: Final = (5e-10, 5e-8, 5e-7)
"""The same of heights [m], velocities [m/s] and energies [J]."""

FINER: Final = (1.0, 0.1, 0.01, 0.001)
"""Shares of the tolerances that are tried until the energy balances."""

BALANCED: Final = 1e-6
"""Energy that may be amiss, as a share of the throughput. [-]"""

LONGEST_STEP: Final = 5e-3
"""So that nothing on the road is stepped over. [s]"""

MOST_STEPS: Final = 20_000
"""Between two instants that are told of."""

TOLD: Final = 1e-3
"""Between two instants of the ride that are told of. [s]"""


@dataclass(frozen=True, slots=True)
class Start:
    """How a ride begins.

    Parameters
    ----------
    fall : height of the tyres over the ground, from which the machine falls with its wheels hanging; None to
        begin at rest on the ground. [m]
    """

    fall: float | None = None


AT_REST: Final = Start()


def simulate(
    machine: RidingMachine,
    inputs: Sequence[CornerInput],
    *,
    duration: float,
    start: Start = AT_REST,
    method: str | None = None,
    relative: float = RELATIVE,
) -> RideMotion:
    """The motion of a machine under what is done to it.

    Parameters
    ----------
    machine : body and corners.
    inputs : for each corner.
    duration : of the ride. [s]
    start : at rest, or from a fall.
    method : one of :func:`scipy.integrate.solve_ivp`, to hold the usual one against; None for the usual,
        which changes between stiff and non-stiff formulas (LSODA).
    relative : tolerance of the integration. [-]

    Returns
    -------
    RideMotion

    Raises
    ------
    GeometryError
        When the machine rests nowhere in its travel, or inputs are missing.
    ConvergenceError
        When the integration stops, with the time; or the energy does not balance.

    References
    ----------
    L. Petzold, "Automatic selection of methods for solving stiff and nonstiff systems of ordinary
    differential equations", SIAM J. Sci. Stat. Comput. 4 (1983) 136-148.
    """
    if len(inputs) != len(machine.corners):
        raise GeometryError(
            f"got inputs for {len(inputs)} corners, expected them for {len(machine.corners)}."
        )
    tables = tuple(WheelTable.of(corner) for corner in machine.corners)
    rows = np.array([one.rows(duration) for one in inputs])
    arguments = (
        np.array([table.figures() for table in tables]),
        np.array([table.rows for table in tables]),
        _padded([corner.damping.rows() for corner in machine.corners]),
        rows,
        machine.body.weights,
        np.array([0.0, STEP, *(table.step for table in tables)]),
    )
    times = np.linspace(0.0, duration, round(duration / TOLD) + 1)
    first = _first(machine, tables, start, rows[:, ::2, 0])
    for finer in FINER:
        states = _integrated(first, times, arguments, method, relative, finer)
        found = RideMotion(
            machine=machine,
            tables=tables,
            times=times,
            states=states,
            seen=observe(states, times, *arguments),
        )
        imbalance = abs(found.energy().imbalance)
        if imbalance < BALANCED:
            return found
    raise ConvergenceError(
        f"the ride's energy does not balance: {imbalance:.1e} of its throughput is amiss, expected at most "
        f"{BALANCED:g}."
    )


def _integrated(
    first: Floats,
    times: Floats,
    arguments: tuple[Floats, ...],
    method: str | None,
    relative: float,
    finer: float,
) -> Floats:
    count = arguments[0].shape[0]
    absolute = finer * np.repeat(ABSOLUTE, (2 * count, 2 * count, first.size - 4 * count))
    absolute[count : 2 * count], absolute[2 * count : 3 * count] = finer * ABSOLUTE[1], finer * ABSOLUTE[0]
    relative = max(relative * finer, 1e-12)
    equations: Any = motion  # the stubs of scipy ask for less than these integrators take
    integrated: Any = odeint
    found: Any
    if method is not None:
        by_name: Any = method
        found = solve_ivp(
            lambda time, state: equations(state, time, *arguments),
            (0.0, float(times[-1])),
            first,
            method=by_name,
            t_eval=times,
            rtol=relative,
            atol=absolute,
            max_step=LONGEST_STEP,
        )
        if not found.success:
            raise ConvergenceError(f"the ride stops at {found.t[-1]:.4g} s: {found.message}")
        by_method: Floats = found.y.T
        return by_method
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ODEintWarning)
        # compiled equations, called straight from the integrator: an event takes a tenth of solve_ivp's time
        found = integrated(
            equations,
            first,
            times,
            args=arguments,
            rtol=relative,
            atol=absolute,
            hmax=LONGEST_STEP,
            mxstep=MOST_STEPS,
            full_output=True,
        )
    states, report = found
    if report["message"] != "Integration successful." or not np.isfinite(states).all():
        raise ConvergenceError(
            f"the ride stops at {float(np.max(report['tcur'], initial=0.0)):.4g} s: {report['message']}"
        )
    usual: Floats = states
    return usual


def _first(
    machine: RidingMachine,
    tables: tuple[WheelTable, ...],
    start: Start,
    done: Floats,
) -> Floats:
    """State of rest on the road, or hanging over it."""
    count = len(tables)
    state = np.zeros(4 * count + LEDGER * count + 1)
    for i, (table, share) in enumerate(zip(tables, machine.body.shares, strict=True)):
        part, (road, load, on_wheel) = table.suspension, done[i]
        if start.fall is not None:
            wheel, travel = road + start.fall, table.rest(0.0)
        else:
            carried = share * STANDARD_GRAVITY - load
            travel = table.rest(carried)
            on_tyre = carried - on_wheel + part.unsprung_mass * STANDARD_GRAVITY
            wheel = road - on_tyre / part.tyre.rate
        state[2 * count + i] = wheel
        state[i] = wheel - travel
    return state


def _padded(curves: list[Floats]) -> Floats:
    """Curves of as many points each: the shorter ones go straight on."""
    longest = max(curve.shape[1] for curve in curves)
    found = np.empty((len(curves), 3, longest))
    for i, curve in enumerate(curves):
        beyond = curve[0, -1] + np.arange(1, longest - curve.shape[1] + 1)
        forces = curve[1, -1] + curve[2, -1] * (beyond - curve[0, -1])
        found[i] = np.hstack([curve, np.array([beyond, forces, np.full(beyond.size, curve[2, -1])])])
    return found
