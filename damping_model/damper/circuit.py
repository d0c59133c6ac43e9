"""Flows and pressure drops in a damper's valves at given shaft velocities.

The flows obey equation (31). In a tree of valves they follow from areas and velocity alone, and each valve is
inverted by itself. Where valves close a loop, the pressures of the chambers are the unknowns of a network
whose flows rise with every pressure drop: it has one solution, the minimum of a convex function, and Newton
with an exact line search always finds it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.damper import Damper
from damping_model.errors import ConvergenceError
from damping_model.flow.oil import OilState
from damping_model.flow.path_set import PathSet, path_set
from damping_model.stack.lift_table import LiftTable

Floats = NDArray[np.float64]

BALANCE: Final = 1e-10
"""Residual of (31), as a share of the flows, at which Newton ends. [-]"""

ROUNDING: Final = 1e-9
"""Residual of (31), as a share of the flows, that rounding leaves. [-]"""

MOST_NEWTON_STEPS: Final = 200


@dataclass(frozen=True, slots=True, eq=False)
class Edge:
    """All valves between two spaces.

    Parameters
    ----------
    ends : places of the two spaces among the damper's; flow from the first to the second is positive.
    valves : places of the valves among the damper's, and 1 or -1 where a valve is described the other way
        round.
    forward, backward : paths open to flow in either direction.
    parts : each valve as an edge of its own, where there are several.
    """

    ends: tuple[int, int]
    valves: tuple[tuple[int, int], ...]
    forward: PathSet
    backward: PathSet
    parts: tuple[Edge, ...] = ()

    def flow(self, drop: float) -> tuple[float, float]:
        """Flow at a pressure drop of either sign, and its slope."""
        flow, slope = (self.forward if drop >= 0 else self.backward).flow(abs(drop))
        return math.copysign(flow, drop), slope

    def drops(self, flows: Floats) -> Floats:
        """Pressure drop of either sign for each flow. [Pa]"""
        drops = np.zeros(flows.size)
        for paths, sign in ((self.forward, 1.0), (self.backward, -1.0)):
            there = np.flatnonzero(sign * flows > 0)
            if there.size:
                order = there[np.argsort(sign * flows[there], kind="stable")]
                drops[order] = sign * paths.drops(sign * flows[order])
        return drops


@dataclass(frozen=True, slots=True, eq=False)
class Circuit:
    """A damper at one temperature and one setting, ready to be asked for any velocity.

    Parameters
    ----------
    damper : what it was made from.
    edges : every pair of spaces that valves join.
    incidence : 1 where oil leaves a chamber by an edge, -1 where it enters (chambers, edges).
    shares : flow in each edge for a shaft velocity of one, where areas alone decide it; else None. [m^2]
    """

    damper: Damper
    edges: tuple[Edge, ...]
    incidence: Floats
    shares: Floats | None

    def solve(self, velocities: Floats, *, start: Floats | None = None) -> tuple[Floats, Floats]:
        """Pressure drop and flow of every edge at each velocity (edges, velocities). [Pa, m^3/s]

        ``start`` are drops of a similar circuit at the same velocities.
        """
        if self.shares is not None:
            flows = self.shares[:, None] * velocities
            drops = np.array([edge.drops(flow) for edge, flow in zip(self.edges, flows, strict=True)])
            return drops, flows
        drops = np.zeros((len(self.edges), velocities.size))
        flows = np.zeros_like(drops)
        for sign in (1.0, -1.0):
            pressures: Floats = np.zeros(len(self.damper.chambers))
            before = 0.0
            for k in np.argsort(np.abs(velocities), kind="stable"):
                if sign * velocities[k] <= 0:
                    continue
                if before:
                    pressures *= min(abs(float(velocities[k]) / before), 4.0)
                if start is not None:
                    pressures = np.asarray(
                        np.linalg.lstsq(self.incidence.T, start[:, k], rcond=None)[0], dtype=float
                    )
                pressures = self._network(velocities[k], pressures)
                before = velocities[k]
                drops[:, k] = self.incidence.T @ pressures
                flows[:, k] = [edge.flow(drop)[0] for edge, drop in zip(self.edges, drops[:, k], strict=True)]
        return drops, flows

    def _network(self, velocity: float, pressures: Floats) -> Floats:
        """Pressures of the chambers over the reservoir's at which (31) holds, by Newton's method. [Pa]"""
        swept = velocity * np.array([chamber.swept_area for chamber in self.damper.chambers])
        flows, slopes = self._flows(pressures)
        for _ in range(MOST_NEWTON_STEPS):
            residual = swept - self.incidence @ flows
            scale = max(float(np.abs(flows).max()), float(np.abs(swept).max()))
            if np.abs(residual).max() <= BALANCE * scale:
                return pressures
            direction = np.asarray(
                np.linalg.solve((self.incidence * slopes) @ self.incidence.T, residual), dtype=np.float64
            )
            move, flows, slopes = self._step(pressures, direction, swept, float(direction @ residual))
            stuck = np.abs(move).max() <= 1e-15 * np.abs(pressures).max()
            if stuck and np.abs(residual).max() <= ROUNDING * scale:
                return pressures
            pressures = pressures + move
        raise ConvergenceError(
            f"damper '{self.damper.name}': no balance of flows found at {velocity:g} m/s within "
            f"{MOST_NEWTON_STEPS} steps; {np.abs(residual).max():.3g} m³/s are left over of {scale:.3g}."
        )

    def _flows(self, pressures: Floats) -> tuple[Floats, Floats]:
        drops = self.incidence.T @ pressures
        found = [edge.flow(float(drop)) for edge, drop in zip(self.edges, drops, strict=True)]
        return np.array([flow for flow, _ in found]), np.array([slope for _, slope in found])

    def _step(
        self, pressures: Floats, direction: Floats, swept: Floats, start: float
    ) -> tuple[Floats, Floats, Floats]:
        """A Newton step that leaves no residual along it, whole unless it goes too far, and flows after it.

        ``start`` is the residual along it before the step.
        """

        def after(step: float) -> tuple[float, Floats, Floats]:
            flows, slopes = self._flows(pressures + step * direction)
            return float(direction @ (swept - self.incidence @ flows)), flows, slopes

        value, flows, slopes = after(1.0)
        if value >= -0.5 * abs(start):
            return direction, flows, slopes
        low, high = 0.0, 1.0
        for _ in range(60):
            middle = 0.5 * (low + high)
            value, flows, slopes = after(middle)
            if abs(value) <= 0.1 * abs(start):
                return middle * direction, flows, slopes
            low, high = (middle, high) if value > 0 else (low, middle)
        middle = 0.5 * (low + high)
        return middle * direction, *self._flows(pressures + middle * direction)


def circuit(
    damper: Damper, *, oil: OilState, clicks: Mapping[str, int], tables: Mapping[str, LiftTable]
) -> Circuit:
    """Make a damper ready to be asked for velocities.

    Parameters
    ----------
    damper : chambers and valves.
    oil : at its temperature.
    clicks : positions of clickers that do not stand where the damper says.
    tables : lift of every stack, by name of its path.
    """
    damper.check_clicks(clicks)
    joined: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for place, valve in enumerate(damper.valves):
        ends = damper.spaces.index(valve.from_chamber), damper.spaces.index(valve.to_chamber)
        if ends[::-1] in joined:
            joined[ends[::-1]].append((place, -1))
        else:
            joined.setdefault(ends, []).append((place, 1))

    def join(ends: tuple[int, int], valves: Sequence[tuple[int, int]]) -> Edge:
        forward, backward = (
            path_set(
                [(path, towards * turned) for place, turned in valves for path in damper.valves[place].paths],
                oil=oil,
                clicks=clicks,
                tables=tables,
            )
            for towards in (1, -1)
        )
        parts = tuple(join(ends, [valve]) for valve in valves) if len(valves) > 1 else ()
        return Edge(ends, tuple(valves), forward, backward, parts)

    edges = tuple(join(ends, valves) for ends, valves in joined.items())
    chambers = len(damper.chambers)
    incidence = np.zeros((chambers, len(edges)))
    for k, edge in enumerate(edges):
        for end, sign in zip(edge.ends, (1.0, -1.0), strict=True):
            if end < chambers:
                incidence[end, k] = sign
    shares: Floats | None = None
    if len(edges) == chambers:
        areas = [chamber.swept_area for chamber in damper.chambers]
        shares = np.asarray(np.linalg.solve(incidence, areas), dtype=np.float64)
    return Circuit(damper, edges, incidence, shares)
