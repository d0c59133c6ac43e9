"""The whole model, asked for every drawn damper by itself: what quicker ways are held against."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from damping_model.damper.circuit import Circuit, circuit
from damping_model.damper.damper import Damper
from damping_model.damper.force import solved, stack_table
from damping_model.flow.oil import OilState
from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.lift import lift_curve
from damping_model.stack.lift_table import FIRST_TOP, LOWEST, PER_DECADE, LiftTable
from damping_model.stack.steel import SpringSteel
from optimiser.model.edits import difference
from optimiser.model.goal import LEAST_FORCE
from optimiser.spread.drawn_forces import Built
from optimiser.unknowns.varied import Draws, VariedDamper, varied

Floats = NDArray[np.float64]

REACH: Final = 1.6
"""Tables reach this factor of pressure beyond what the stacks feel as they are. [-]"""

KEPT_TABLES: Final = 100
"""Tables that are kept: figures of the oil's ways leave stacks as they are. [-]"""


class WholeModel:
    """Forces at a goal's velocities with the unknown figures wherever draws put them.

    Parameters
    ----------
    damper : as it is described.
    stack_name : the stack that may change.
    velocities : of the shaft, positive in compression, none of them 0. [m/s]
    settings : positions of the clickers that may be chosen, by name.
    temperature : of the oil, before draws; the damper's own when left out. [K]
    steel : of the shims, before draws.

    Notes
    -----
    The whole model, but for two things that spare time and no truth: stacks are lifted at the pressures that
    the velocities ask for, and one that no oil lifts at any of them is not lifted anew.
    """

    def __init__(
        self,
        damper: Damper,
        *,
        stack_name: str,
        velocities: Floats,
        settings: Sequence[Mapping[str, int]],
        temperature: float | None = None,
        steel: SpringSteel | None = None,
    ) -> None:
        self.damper = damper if temperature is None else replace(damper, temperature=temperature)
        self.stack_name, self.velocities, self.settings = stack_name, velocities, tuple(settings)
        self.steel = steel or SpringSteel()
        self._tables: dict[object, LiftTable] = {}
        self._present = damper.stack_path(stack_name).stack
        ready, drops, _ = solved(
            self.damper, velocities=velocities, temperature=None, clicks={}, steel=self.steel
        )
        self._idle: dict[str, LiftTable] = {}
        names = {path.name for path in damper.stacks}
        self._felt = {
            name: _reach(felt)
            for name, felt in _face_pressures(ready, drops).items()
            if name in names and felt.max() > 0
        }

    def forces(self, draws: Draws, builds: Sequence[Built]) -> Floats:
        """Logarithm of the damping force of each build at each velocity (builds, velocities). [N]

        Raises
        ------
        ModelError
            When no such damper can be, or it cannot be computed.
        """
        drawn = varied(self.damper, draws, steel=self.steel)
        oil = drawn.damper.oil.at(temperature=drawn.damper.temperature)
        return np.array([self._forces(drawn, build, oil) for build in builds])

    def _forces(self, drawn: VariedDamper, build: Built, oil: OilState) -> Floats:
        damper = self._built(drawn, build)
        while True:
            tables = {path.name: self._table(path, drawn.steel) for path in damper.stacks}
            ready = circuit(damper, oil=oil, clicks=self.settings[build.setting], tables=tables)
            drops, flows = ready.solve(self.velocities)
            if not self._reached_further(ready, drops):
                resisting = np.abs((drops * flows).sum(axis=0) / self.velocities)
                return np.asarray(np.log(np.maximum(resisting, LEAST_FORCE)))

    def _built(self, drawn: VariedDamper, build: Built) -> Damper:
        if build.stack == self._present:
            return drawn.damper
        comes = set(difference(self._present, build.stack).put_in)
        return drawn.with_stack(self.stack_name, build.stack, stays=lambda place: place not in comes)

    def _reached_further(self, ready: Circuit, drops: Floats) -> bool:
        """Whether a stack feels more, or less, than its table reaches; tables reach further from then on."""
        short = False
        for name, felt in _face_pressures(ready, drops).items():
            if name in self._idle and felt.max() > 0:
                self._felt[name] = _reach(felt)
                short = True
            elif name in self._felt and felt.max() > 0:
                low, high = _reach(felt)
                least, most = self._felt[name]
                if low * REACH < least or high / REACH > most:
                    self._felt[name] = min(low, least), max(high, most)
                    short = True
        return short

    def _table(self, path: ShimValve, steel: SpringSteel) -> LiftTable:
        felt = self._felt.get(path.name)
        if felt is None:
            if path.name not in self._idle:
                self._idle[path.name] = stack_table(self.damper, path.name, steel=self.steel, top=FIRST_TOP)
            return self._idle[path.name]
        key = path.stack, path.seat, path.face_pressure, path.interface_load, steel, felt
        if key not in self._tables:
            if len(self._tables) >= KEPT_TABLES:
                self._tables.clear()
            self._tables[key] = _table_over(path, steel, felt)
        return self._tables[key]


def _table_over(path: ShimValve, steel: SpringSteel, felt: tuple[float, float]) -> LiftTable:
    """Table of a stack over a stretch of pressure."""
    step = math.log(10) / PER_DECADE
    first, last = (math.log(one / LOWEST) / step for one in felt)
    logs = math.log(LOWEST) + step * np.arange(math.floor(first), math.ceil(last) + 1)
    pressures = np.exp(logs)
    curve = lift_curve(
        path.packed(path.stack, steel=steel), seat=path.seat, load=path.face_pressure, pressures=pressures
    )
    compliance = curve.seat_lift / pressures
    slope = np.asarray(PchipInterpolator(logs, compliance).derivative()(logs))
    return LiftTable(first=float(logs[0]), step=step, compliance=compliance, slope=slope)


def _reach(felt: Floats) -> tuple[float, float]:
    """Pressures that a table of a stack that feels these has to reach. [Pa]"""
    return float(felt[felt > 0].min() / REACH), float(felt.max() * REACH)


def _face_pressures(ready: Circuit, drops: Floats) -> dict[str, Floats]:
    """Pressure on the face of every plate that oil lifts, at each velocity. [Pa]"""
    found: dict[str, Floats] = {}
    for edge, along in zip(ready.edges, drops, strict=True):
        for paths, sign in ((edge.forward, 1.0), (edge.backward, -1.0)):
            felt = paths.face_pressures(np.maximum(sign * along, 0.0))
            found.update(zip(paths.names, felt, strict=True))
    return found
