"""Paths in parallel at one oil temperature and one setting of the clickers, as arrays for the flow kernel."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ConvergenceError
from damping_model.flow.flow_kernel import drops_for_flows, face_pressures, lifter_flow, total_flow
from damping_model.flow.lift_kernel import (
    COLUMNS,
    EDGE,
    FILM,
    HEAD,
    JET,
    KIND,
    MOST_STEPS,
    PLATE,
    PORT_LINEAR,
    PORT_QUADRATIC,
    STACK,
    shifts_of,
)
from damping_model.flow.oil import OilState
from damping_model.flow.paths import Bleed, CheckPlate, Clicker, RingLeak
from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.lift_table import NO_KNOTS, LiftTable
from damping_model.units import BAR, MILLIMETRE

Floats = NDArray[np.float64]

FlowPath = Bleed | Clicker | RingLeak | CheckPlate | ShimValve
"""Any way for oil through a valve."""

SEEPAGE: Final = 1e-20
"""Flow times viscosity over pressure that passes even shut seats: a film of about 0.15 µm, less than the
roughness of a lapped face. It keeps every valve's flow strictly rising; our choice. [m^3]"""


@dataclass(frozen=True, slots=True, eq=False)
class PathSet:
    """Everything that lets oil through between two chambers in one direction.

    Parameters
    ----------
    plain : linear and quadratic resistance of holes, needles, leaks (paths, 2).
    lifters : rows of the flow kernel, one for each plate that rises from a lip.
    tables, knots : lift of those that are stacks.
    names : of the lifters.
    plain_names : of the plain paths; seepage, the first row of ``plain``, has none.

    Raises
    ------
    ConvergenceError
        In each method, when a root search of the kernel did not end, with the figures.
    """

    plain: Floats
    lifters: Floats
    tables: Floats
    knots: Floats
    names: tuple[str, ...]
    plain_names: tuple[str, ...]

    def flow(self, drop: float) -> tuple[float, float]:
        """Flow at a pressure drop [Pa], not negative, and its slope. [m^3/s, m^3/(s Pa)]"""
        if drop <= 0:
            return 0.0, float((1 / self.plain[:, 0]).sum())
        flow, slope = total_flow(self.plain, self.lifters, self.tables, self.knots, math.log(drop))
        if math.isnan(flow):
            raise self._not_converged("flow", f"a pressure drop of {drop / BAR:.4g} bar")
        return flow, slope / drop

    def flows(self, drops: Floats) -> Floats:
        """Flow at each pressure drop, not negative. [m^3/s]"""
        return np.array([self.flow(float(drop))[0] for drop in drops])

    def split(self, drops: Floats) -> dict[str, Floats]:
        """Flow of each path alone at each pressure drop, not negative. [m^3/s]"""
        found = {
            name: 2 * drops / (a + np.sqrt(a * a + 4 * b * drops))
            for name, (a, b) in zip(self.plain_names, self.plain[1:], strict=True)
        }
        for k, name in enumerate(self.names):
            found[name] = np.zeros(drops.size)
            for j in np.flatnonzero(drops > 0):
                y = math.log(drops[j])
                found[name][j] = lifter_flow(self.lifters[k], self.tables[k], self.knots[k], y)[0]
                if math.isnan(found[name][j]):
                    raise self._not_converged("flow", f"a pressure drop of {drops[j] / BAR:.4g} bar")
        return found

    def drops(self, flows: Floats) -> Floats:
        """Pressure drop that drives each flow, not negative. [Pa]"""
        found = np.asarray(drops_for_flows(self.plain, self.lifters, self.tables, self.knots, flows))
        if np.isnan(found).any():
            raise self._not_converged("pressure drop", f"a flow of {flows[np.isnan(found)][0]:g} m³/s")
        return found

    def face_pressures(self, drops: Floats) -> Floats:
        """Pressure on the face of every plate (plates, drops). [Pa]"""
        found = np.asarray(face_pressures(self.lifters, self.tables, self.knots, drops))
        if np.isnan(found).any():
            drop = drops[np.isnan(found).any(axis=0)][0]
            raise self._not_converged("face pressure", f"a pressure drop of {drop / BAR:.4g} bar")
        return found

    def _not_converged(self, what: str, where: str) -> ConvergenceError:
        past = ", ".join(self.names) or "holes and leaks"
        return ConvergenceError(f"no {what} found for {where} past {past} within {MOST_STEPS} steps.")

    def opens(self, row: int) -> bool:
        """Whether any pressure of its table opens a stack."""
        return bool((self.tables[row, 0] > 0).any())

    def without(self, row: int) -> PathSet:
        """The paths beside one of the lifters."""
        return replace(
            self,
            lifters=np.delete(self.lifters, row, axis=0),
            tables=np.delete(self.tables, row, axis=0),
            knots=np.delete(self.knots, row, axis=0),
            names=self.names[:row] + self.names[row + 1 :],
        )

    def with_lift(self, row: int, pressures: Floats, lifts: Floats, own: Floats | None) -> PathSet:
        """The same paths with another stack in a row.

        Parameters
        ----------
        row : of the stack.
        pressures : rising. [Pa]
        lifts : of the other stack at these pressures. [m]
        own : of the stack whose table is in the row, so that its own shifts are zero; None where that is no
            stack.
        """
        logs = np.log(pressures)
        knots = np.zeros((self.knots.shape[0], 2, pressures.size))
        knots[:, 0] = logs
        knots[row, 1] = shifts_of(self.lifters[row], self.tables[row], logs, lifts)
        if np.isnan(knots[row, 1]).any():
            lift = lifts[np.isnan(knots[row, 1])][0]
            raise self._not_converged("pressure", f"a lift of {lift / MILLIMETRE:.4g} mm")
        if own is not None:
            knots[row, 1] -= shifts_of(self.lifters[row], self.tables[row], logs, own)
        return replace(self, knots=knots)

    def with_table(self, row: int, table: LiftTable) -> PathSet:
        """The same paths with another stack in a row, by its full table."""
        lifters = self.lifters.copy()
        lifters[row, 7:] = _table_columns(table)
        tables = np.zeros((len(lifters), 2, max(self.tables.shape[2], table.compliance.size)))
        tables[:, :, : self.tables.shape[2]] = self.tables
        tables[row, :, : table.compliance.size] = table.compliance, table.slope
        return replace(self, lifters=lifters, tables=tables)


def path_set(
    paths: Iterable[tuple[FlowPath, int]],
    *,
    oil: OilState,
    clicks: Mapping[str, int],
    tables: Mapping[str, LiftTable],
) -> PathSet:
    """Compile the paths that are open in a direction.

    Parameters
    ----------
    paths : each with the direction, 1 or -1, that oil goes through it.
    oil : what flows.
    clicks : positions of clickers that do not stand where they stood.
    tables : lift of every stack, by name of its path.
    """
    plain: list[tuple[float, float]] = [(oil.dynamic_viscosity / SEEPAGE, 0.0)]
    rows: list[Floats] = []
    found: list[LiftTable | None] = []
    names: list[str] = []
    plain_names: list[str] = []
    for path, towards in paths:
        if isinstance(path, ShimValve | CheckPlate):
            if path.direction == towards:
                table = tables[path.name] if isinstance(path, ShimValve) else None
                rows.append(_row(path, oil, table))
                found.append(table)
                names.append(path.name)
        elif path.direction != -towards:
            if isinstance(path, Clicker):
                resistance = path.set_to(clicks.get(path.name, path.position)).resistance(oil=oil)
            else:
                resistance = path.resistance(oil=oil)
            if math.isfinite(resistance.linear):
                plain.append((resistance.linear, resistance.quadratic))
                plain_names.append(path.name)
    longest = max((table.compliance.size for table in found if table), default=1)
    lifts = np.zeros((len(rows), 2, longest))
    for k, table in enumerate(found):
        if table:
            lifts[k, :, : table.compliance.size] = table.compliance, table.slope
    return PathSet(
        np.array(plain),
        np.array(rows).reshape(-1, COLUMNS),
        lifts,
        np.repeat(NO_KNOTS[None], len(rows), axis=0),
        tuple(names),
        tuple(plain_names),
    )


def _row(path: ShimValve | CheckPlate, oil: OilState, table: LiftTable | None) -> Floats:
    ports, gap = path.ports(oil=oil), path.curtain(oil=oil)
    row = np.zeros(COLUMNS)
    row[[PORT_LINEAR, PORT_QUADRATIC, FILM, EDGE, JET]] = (
        ports.linear,
        ports.quadratic,
        gap.film,
        gap.edge,
        gap.jet,
    )
    if isinstance(path, ShimValve):
        assert table is not None  # noqa: S101
        if path.momentum:
            row[HEAD] = oil.density / (2 * path.port_area**2)
        row[KIND] = STACK
        row[7:] = _table_columns(table)
    else:
        row[KIND] = PLATE
        row[7:10] = path.opening_pressure, path.port_area / path.spring_rate, path.lift_stop
    return row


def _table_columns(table: LiftTable) -> tuple[float, float, float]:
    return table.first, table.step, table.compliance.size
