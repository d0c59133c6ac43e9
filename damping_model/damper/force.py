"""Force curves: damper, velocities, oil temperature and setting in; forces and where they come from out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.boiling import Allowance, Boiling, Span, boilings, room, space_pressures
from damping_model.damper.circuit import Circuit, circuit
from damping_model.damper.curve import ForceCurve
from damping_model.damper.damper import NO_CLICKS, Damper
from damping_model.errors import ConvergenceError, GeometryError
from damping_model.flow.flow_kernel import LOCKED
from damping_model.stack.friction import StackFriction
from damping_model.stack.lift_table import FIRST_TOP, LiftTable, lift_table
from damping_model.stack.steel import SpringSteel
from damping_model.units import BAR

Floats = NDArray[np.float64]

FASTEST: Final = 50.0
"""Shaft velocities beyond this are a slip of the unit. [m/s]"""

SLOWER: Final = 1e-3
"""Where the slowest velocity boils, speeds down to this share of it are looked at. [-]"""


def force_curve(
    damper: Damper,
    *,
    velocities: NDArray[np.float64] | Sequence[float],
    temperature: float | None = None,
    clicks: Mapping[str, int] = NO_CLICKS,
    steel: SpringSteel | None = None,
    friction: StackFriction | None = None,
) -> ForceCurve:
    """Steady force against shaft velocity, split into what each valve contributes.

    Parameters
    ----------
    damper : chambers, valves and oil.
    velocities : of the shaft, positive in compression. [m/s]
    temperature : of the oil; the damper's own unless given. [K]
    clicks : clicks out of those clickers that do not stand where the damper says.
    steel : of the shims.
    friction : between the shims of every stack, and whether they open or close; none when left out.

    Returns
    -------
    ForceCurve

    Raises
    ------
    GeometryError
        When a name or a value is not one that the damper has, or a stroke has no way for the oil.
    ConvergenceError
        When a stack or a network of valves could not be solved.

    Notes
    -----
    Virtual work, equation (32): force times velocity is the sum over valves of pressure drop times flow, and
    so the share of a valve is its drop times its flow over the velocity.

    Examples
    --------
    A piston of 27 mm on a shaft of 10 mm with one bleed of 1.5 mm, worked by hand on the page of the model:

    >>> import math
    >>> from damping_model import Bleed, Chamber, Damper, Oil, Valve
    >>> damper = Damper(
    ...     name="one way through",
    ...     chambers=(Chamber(name="above", swept_area=-math.pi / 4 * (27e-3**2 - 10e-3**2)),),
    ...     reservoir="below, under gas",
    ...     gas_pressure=14e5,
    ...     valves=(
    ...         Valve(
    ...             name="piston",
    ...             from_chamber="below, under gas",
    ...             to_chamber="above",
    ...             paths=(Bleed(name="bleed", diameter=1.5e-3, length=2e-3, discharge=0.8),),
    ...         ),
    ...     ),
    ...     oil=Oil(name="oil", viscosity_points=((313.15, 14.6e-6), (373.15, 3.6e-6)), density_15=858.0),
    ...     temperature=313.15,
    ... )
    >>> curve = force_curve(damper, velocities=[0.1, 0.2])
    >>> [round(float(force), 1) for force in curve.damping_force]  # twice as fast, four times the force
    [261.0, 1030.1]
    """
    asked = checked_velocities(velocities)
    ready, drops, flows = solved(
        damper,
        velocities=asked,
        temperature=temperature,
        clicks=clicks,
        steel=steel or SpringSteel(),
        friction=friction,
    )
    pressures = space_pressures(ready, drops)
    valve_drops, valve_flows = _by_valve(ready, drops, flows)
    work = valve_drops * valve_flows
    with np.errstate(invalid="ignore", divide="ignore"):
        shares = np.where(asked == 0, 0.0, work / asked)
    settings = {path.name: path.position for path in damper.clickers} | dict(clicks)
    return ForceCurve(
        velocities=asked,
        damping_force=shares.sum(axis=0),
        gas_force=damper.gas_pressure * damper.displaced_area,
        friction_force=damper.friction * np.sign(asked),
        spaces=damper.spaces,
        pressures=pressures,
        valves=tuple(valve.name for valve in damper.valves),
        shares=shares,
        flows=valve_flows,
        drops=valve_drops,
        paths=tuple(path.name for path in damper.paths),
        path_flows=_by_path(ready, drops),
        boiling=_boiling(ready, asked, drops),
        temperature=damper.temperature if temperature is None else temperature,
        clicks=tuple(settings.items()),
    )


def boiling_between(
    damper: Damper,
    span: Span,
    *,
    temperature: float | None = None,
    clicks: Mapping[str, int] = NO_CLICKS,
    steel: SpringSteel | None = None,
    allowance: Allowance | None = None,
) -> tuple[Boiling, ...]:
    """Where oil boils between two velocities of one stroke, the slowest first.

    Parameters
    ----------
    damper, temperature, clicks, steel : as for :func:`force_curve`, which shares the stacks' lifts.
    span : slowest and fastest velocity, positive in compression. [m/s]
    allowance : a change of force with which oil must not boil either.
    """
    ready, _, _ = solved(
        damper,
        velocities=checked_velocities([span[1]]),
        temperature=temperature,
        clicks=clicks,
        steel=steel or SpringSteel(),
    )
    return boilings(ready, span, allowance=allowance)


def solved(
    damper: Damper,
    *,
    velocities: Floats,
    temperature: float | None,
    clicks: Mapping[str, int],
    steel: SpringSteel,
    friction: StackFriction | None = None,
) -> tuple[Circuit, Floats, Floats]:
    """Circuit with lift tables that reach far enough, and its drops and flows (edges, velocities)."""
    oil = damper.oil.at(temperature=damper.temperature if temperature is None else temperature)
    tops = {path.name: FIRST_TOP for path in damper.stacks}
    while True:
        tables = {
            path.name: stack_table(damper, path.name, steel=steel, top=tops[path.name], friction=friction)
            for path in damper.stacks
        }
        ready = circuit(damper, oil=oil, clicks=clicks, tables=tables)
        drops, flows = ready.solve(velocities)
        _refuse_locked(ready, velocities, drops)
        short = {
            name
            for edge, along in zip(ready.edges, drops, strict=True)
            for paths, sign in ((edge.forward, 1.0), (edge.backward, -1.0))
            for name, faces in zip(paths.names, paths.face_pressures(sign * along), strict=True)
            if name in tables and faces.max(initial=0.0) > tables[name].top
        }
        if not short:
            return ready, drops, flows
        for name in short:
            tops[name] *= 10


def stack_table(
    damper: Damper, name: str, *, steel: SpringSteel, top: float, friction: StackFriction | None = None
) -> LiftTable:
    """Lift of one of a damper's stacks."""
    path = damper.stack_path(name)
    packed = path.packed(path.stack, steel=steel)
    try:
        return lift_table(packed, seat=path.seat, load=path.face_pressure, top=top, friction=friction)
    except (GeometryError, ConvergenceError) as error:
        raise type(error)(f"stack '{name}' of damper '{damper.name}': {error}") from None


def checked_velocities(velocities: NDArray[np.float64] | Sequence[float]) -> Floats:
    """Velocities as an array. [m/s]"""
    asked = np.atleast_1d(np.asarray(velocities, dtype=float))
    if not (asked.ndim == 1 and asked.size and np.isfinite(asked).all() and np.abs(asked).max() <= FASTEST):
        raise GeometryError(
            f"got shaft velocities {asked!r}, expected a list of numbers within {FASTEST:g} m/s. "
            "Are they in mm/s?"
        )
    return asked


def _by_valve(ready: Circuit, drops: Floats, flows: Floats) -> tuple[Floats, Floats]:
    """Drops and flows of each valve in its own direction (valves, velocities)."""
    count = len(ready.damper.valves)
    by_drop, by_flow = np.zeros((count, drops.shape[1])), np.zeros((count, drops.shape[1]))
    for edge, along, through in zip(ready.edges, drops, flows, strict=True):
        for place, turned in edge.valves:
            by_drop[place] = turned * along
            by_flow[place] = turned * through
        if edge.parts:
            alone = np.array([[part.flow(float(drop))[0] for drop in along] for part in edge.parts])
            whole = np.where(along == 0, 1.0, alone.sum(axis=0))
            for (place, turned), part in zip(edge.valves, alone, strict=True):
                by_flow[place] = turned * through * part / whole
    return by_drop, by_flow


def _by_path(ready: Circuit, drops: Floats) -> Floats:
    """Flow through each path in its valve's direction (paths, velocities)."""
    places = {path.name: k for k, path in enumerate(ready.damper.paths)}
    flows = np.zeros((len(places), drops.shape[1]))
    for edge, along in zip(ready.edges, drops, strict=True):
        turned = {path.name: sign for place, sign in edge.valves for path in ready.damper.valves[place].paths}
        for paths, sign in ((edge.forward, 1.0), (edge.backward, -1.0)):
            for name, flow in paths.split(np.maximum(sign * along, 0.0)).items():
                flows[places[name]] += sign * turned[name] * flow
    return flows


def _refuse_locked(ready: Circuit, velocities: Floats, drops: Floats) -> None:
    worst = np.unravel_index(int(np.abs(drops).argmax()), drops.shape)
    if abs(drops[worst]) > LOCKED:
        edge, velocity = ready.edges[int(worst[0])], float(velocities[worst[1]])
        ends = [ready.damper.spaces[end] for end in edge.ends]
        here, there = ends if drops[worst] > 0 else ends[::-1]
        raise GeometryError(
            f"damper '{ready.damper.name}': oil has next to no way from '{here}' to '{there}': "
            f"{velocity:g} m/s would take {abs(drops[worst]) / BAR:.3g} bar. "
            "Open a clicker, or add a bleed or a check."
        )


def _boiling(ready: Circuit, velocities: Floats, drops: Floats) -> tuple[Boiling, ...]:
    """Where oil boils, in each stroke from just below the first of the velocities at which it does."""
    boils = room(ready, drops).min(axis=0) <= 0
    found: list[Boiling] = []
    for sign in (1, -1):
        speeds = sign * velocities
        if not (boils & (speeds > 0)).any():
            continue
        at = float(speeds[boils & (speeds > 0)].min())
        below = speeds[(speeds > 0) & (speeds < at)].max(initial=at * SLOWER)
        found += boilings(ready, (sign * float(below), sign * float(speeds.max())))
    return tuple(found)
