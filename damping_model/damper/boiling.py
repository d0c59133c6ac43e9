"""Where the oil of a damper would boil: in which chamber, at which speeds, and what keeps it from it.

The pressure of a chamber is the gas pressure and the pressure drops between gas and chamber, equation (32a).
Where it falls to the oil's vapour pressure the oil boils, and the model promises no figure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.circuit import Circuit
from damping_model.vehicle.spring import ATMOSPHERE

Floats = NDArray[np.float64]
Span = tuple[float, float]
"""Slowest and fastest shaft velocity of a stretch of one stroke, positive in compression. [m/s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowance:
    """A change of force that is allowed for where boiling is looked for.

    Parameters
    ----------
    path : through which the force changes; the pressure drops of other valves stay.
    shares : largest fall and largest rise, as shares of the force of the damper as it is. [-]
    """

    path: str
    shares: tuple[float, float]


STEP: Final = 1.02
"""Factor between speeds at which boiling is looked for. [-]"""

PIECES: Final = 12
"""Parts that a span is cut into before its pressures are bounded, and again where bounds do not do. [-]"""

ROUNDS: Final = 4
"""How often parts are cut again; what is unsure then counts as boiling. [-]"""

FEEDING: Final = 0.02
"""Share of the pressure that is lost on the way to a chamber from which on a valve is named. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Boiling:
    """A stretch of one stroke in which oil boils.

    Parameters
    ----------
    chamber : where the pressure falls lowest.
    sign : 1 in compression, -1 in rebound.
    slowest, fastest : speeds between which it boils, of those that were looked at. [m/s]
    gas_pressure : gauge pressure of the gas as it is. [Pa]
    gas_needed : gauge pressure from which on it would boil nowhere there. [Pa]
    fed_through : valves that lose pressure between the gas and the chamber, the one that loses most first.
    held_up_by : valves on that way whose resistance raises its pressure, likewise.
    """

    chamber: str
    sign: int
    slowest: float
    fastest: float
    gas_pressure: float
    gas_needed: float
    fed_through: tuple[str, ...]
    held_up_by: tuple[str, ...]


def space_pressures(ready: Circuit, drops: Floats) -> Floats:
    """Gauge pressure in every space, the reservoir last (spaces, velocities). [Pa]"""
    above = _ways(ready) @ drops
    return np.vstack([above, np.zeros(drops.shape[1])]) + ready.damper.gas_pressure


def room(ready: Circuit, drops: Floats) -> Floats:
    """Pressure of every chamber over the vapour pressure; oil boils at 0 (chambers, velocities). [Pa]"""
    return np.asarray(_ways(ready) @ drops + _level(ready))


def boilings(ready: Circuit, span: Span, *, allowance: Allowance | None = None) -> tuple[Boiling, ...]:
    """Every stretch of a span in which oil boils, the slowest first.

    Parameters
    ----------
    ready : the circuit.
    span : slowest and fastest velocity, of one sign. [m/s]
    allowance : a change of force with which oil must not boil either; counts only in a tree of valves.
    """
    sign = 1 if span[1] > 0 else -1
    slow, fast = abs(span[0]), abs(span[1])
    count = 2 + int(np.log(fast / slow) / np.log(STEP)) if fast > slow else 1
    speeds = np.geomspace(slow, fast, count)
    drops = ready.solve(sign * speeds)[0]
    least = _least_room(ready, drops, allowance).min(axis=0)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], least <= 0, [False]]).astype(int)))
    return tuple(
        _boiling(ready, sign, speeds, drops, (first, after - 1), allowance)
        for first, after in zip(edges[::2], edges[1::2], strict=True)
    )


def stays_whole(ready: Circuit, spans: Sequence[Span]) -> bool:
    """Whether oil boils nowhere in any span: at no velocity, and not only at those that were tried.

    Parameters
    ----------
    ready : the circuit, of valves that close no loop.
    spans : slowest and fastest velocity of each, of one sign. [m/s]

    Notes
    -----
    In a tree of valves every pressure drop rises with speed, so the drops at both ends of a stretch bound the
    pressures between. Where the bound is not enough the stretch is cut into :data:`PIECES`.
    """
    ways, level = _ways(ready), _level(ready)
    cuts = np.array([np.geomspace(*span, PIECES + 1) for span in spans]).reshape(-1, PIECES + 1)
    for _ in range(ROUNDS):
        if not cuts.size:
            return True
        drops = ready.solve(cuts.ravel())[0].reshape(-1, *cuts.shape)
        rooms = np.einsum("ce,eij->cij", ways, drops) + level
        if (rooms <= 0).any():
            return False
        low, high = np.minimum(drops[..., :-1], drops[..., 1:]), np.maximum(drops[..., :-1], drops[..., 1:])
        least = np.einsum("ce,eij->cij", np.maximum(ways, 0), low)
        least += np.einsum("ce,eij->cij", np.minimum(ways, 0), high) + level
        unsure = np.argwhere((least <= 0).any(axis=0))
        cuts = np.array([np.geomspace(cuts[i, j], cuts[i, j + 1], PIECES + 1) for i, j in unsure])
    return not cuts.size


def _ways(ready: Circuit) -> Floats:
    """By how much each edge's pressure drop lifts each chamber over the reservoir (chambers, edges). [-]"""
    return _inverted(ready.incidence.shape, ready.incidence.tobytes())


@lru_cache(maxsize=256)
def _inverted(shape: tuple[int, ...], incidence: bytes) -> Floats:
    """The same from the bytes of an incidence: a damper has one, and is asked for it at every speed."""
    return np.asarray(np.linalg.pinv(np.frombuffer(incidence).reshape(shape).T))


def _level(ready: Circuit) -> float:
    """Pressure of the gas over the oil's vapour pressure. [Pa]"""
    return ready.damper.gas_pressure + ATMOSPHERE - ready.damper.oil.vapour_pressure


def _least_room(ready: Circuit, drops: Floats, allowance: Allowance | None) -> Floats:
    """Room of every chamber, the least of it over a change of force (chambers, velocities). [Pa]

    Virtual work, equation (32): in a tree a valve's share of the force is its drop times its flow over the
    velocity, so a change of the whole force is a change of that drop.
    """
    least = room(ready, drops)
    if allowance is None or ready.shares is None:
        return least
    force = ready.shares @ drops
    for k, edge in enumerate(ready.edges):
        if ready.shares[k] and allowance.path in {*edge.forward.names, *edge.backward.names}:
            for share in allowance.shares:
                changed = drops.copy()
                changed[k] += share * force / ready.shares[k]
                least = np.minimum(least, room(ready, changed))
    return least


def _boiling(
    ready: Circuit,
    sign: int,
    speeds: Floats,
    drops: Floats,
    stretch: tuple[int, int],
    allowance: Allowance | None,
) -> Boiling:
    first, last = stretch
    rooms = _least_room(ready, drops[:, first : last + 1], allowance)
    chamber, place = np.unravel_index(int(rooms.argmin()), rooms.shape)
    lost = -_ways(ready)[chamber] * drops[:, first + int(place)]
    damper = ready.damper

    def named(amounts: Floats) -> tuple[str, ...]:
        """Valves of the edges that matter, by what they lose or raise."""
        places = [k for k in np.argsort(-amounts, kind="stable") if amounts[k] > FEEDING * np.abs(lost).sum()]
        return tuple(damper.valves[valve].name for k in places for valve, _ in ready.edges[k].valves)

    return Boiling(
        chamber=damper.chambers[int(chamber)].name,
        sign=sign,
        slowest=_edge(ready, sign, speeds, (first, -1), allowance),
        fastest=_edge(ready, sign, speeds, (last, 1), allowance),
        gas_pressure=damper.gas_pressure,
        gas_needed=damper.gas_pressure - float(rooms.min()),
        fed_through=named(lost),
        held_up_by=named(-lost),
    )


def _edge(
    ready: Circuit, sign: int, speeds: Floats, place: tuple[int, int], allowance: Allowance | None
) -> float:
    """Speed between one that boils and the next one, on one side, that does not; by bisection. [m/s]"""
    inside, step = place
    if not 0 <= inside + step < speeds.size:
        return float(speeds[inside])
    boils, calm = float(speeds[inside]), float(speeds[inside + step])
    while abs(boils - calm) > 1e-9:
        middle = (boils + calm) / 2
        drops = ready.solve(np.array([sign * middle]))[0]
        if _least_room(ready, drops, allowance).min() <= 0:
            boils = middle
        else:
            calm = middle
    return boils
