"""Forces of thousands of drawn dampers, as they are and with the stacks that may be built into them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.damper import Damper
from damping_model.damper.force import solved, stack_table
from damping_model.flow.flow_kernel import drops_for_flows
from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.lift_table import FIRST_TOP
from damping_model.stack.stack import Stack
from damping_model.stack.steel import SpringSteel
from optimiser.model.edits import difference
from optimiser.model.goal import LEAST_FORCE
from optimiser.spread.directions import Directions
from optimiser.spread.drawn_lifts import StackMoves, stack_moves
from optimiser.spread.drawn_ways import LIFT_COLUMNS, DrawnSide, DrawnWays, drawn_ways
from optimiser.spread.trials import Trials
from optimiser.unknowns.varied import VariedDamper

Floats = NDArray[np.float64]

REACH: Final = 2.5
"""Stacks are lifted at this factor of pressure below and above what they feel as they are. [-]"""


@dataclass(frozen=True, slots=True)
class Built:
    """What may be built, or what is there.

    Parameters
    ----------
    stack : nominal shims, from the piston outwards.
    setting : place of the clickers' positions among the settings.
    others : other stacks that change besides, by name.
    before : whether this is the damper as it was before other parts came in; see
        :class:`optimiser.spread.drawn_swap.DrawnSwap`.
    """

    stack: Stack
    setting: int
    others: tuple[tuple[str, Stack], ...] = ()
    before: bool = False


class DrawnForces:
    """Forces at a goal's velocities of one sample of drawn dampers, whatever is built into them.

    Parameters
    ----------
    damper : as it is described, with valves that close no ring.
    stack_name : the stack that is meant where a build names none.
    velocities : of the shaft, positive in compression, none of them 0. [m/s]
    settings : positions of the clickers that may be chosen, by name.
    directions : in which the unknown figures may lie.
    temperature : of the oil, before draws; the damper's own when left out. [K]
    steel : of the shims, before draws.

    Notes
    -----
    The flow through every drawn damper is solved as a force curve solves it. Only the lifts of its stacks are
    interpolated, between stacks whose figures were moved one direction at a time: see
    :class:`optimiser.spread.drawn_lifts.StackMoves`. A stack that no oil lifts at any of the velocities is
    left as it is.
    """

    def __init__(
        self,
        damper: Damper,
        *,
        stack_name: str,
        velocities: Floats,
        settings: Sequence[Mapping[str, int]],
        directions: Directions,
        temperature: float | None = None,
        steel: SpringSteel | None = None,
    ) -> None:
        self.directions = directions
        self._damper = damper if temperature is None else replace(damper, temperature=temperature)
        self._name, self._velocities, self._settings = stack_name, velocities, tuple(settings)
        self._steel = steel or SpringSteel()
        self._present = {path.name: path.stack for path in damper.stacks}
        self._trials = Trials.of(self._damper, directions, steel=self._steel)
        self._strokes = frozenset(int(sign) for sign in np.sign(velocities))
        self._idle = {
            path.name: stack_table(self._damper, path.name, steel=self._steel, top=FIRST_TOP)
            for path in damper.stacks
        }
        self._felt = self._felt_as_it_is()
        self._moves: dict[tuple[str, Stack], StackMoves] = {}

    def logs(
        self, steps: Floats, builds: Sequence[Built], *, tell: Callable[[int], None] = lambda _: None
    ) -> Floats:
        """Logarithm of the damping force (draws, builds, velocities). [N]

        Parameters
        ----------
        steps : in every direction (draws, directions).
        builds : whose forces are wanted.
        tell : is told how many builds are done, and may raise to end the work.

        Raises
        ------
        ModelError
            When a stack cannot be lifted with every figure where it most likely is.
        """
        found = np.empty((steps.shape[0], len(builds), self._velocities.size))
        ways: dict[int, DrawnWays] = {}
        beside: dict[tuple[int, int, bool], Floats] = {}
        for row, build in enumerate(builds):
            tell(row)
            if build.setting not in ways:
                ways[build.setting] = drawn_ways(
                    self._trials,
                    steps,
                    clicks=self._settings[build.setting],
                    tables=self._idle,
                    strokes=self._strokes,
                )
            way, changing = ways[build.setting], {self._name, *(name for name, _ in build.others)}
            total = np.zeros((steps.shape[0], self._velocities.size))
            for side in way.sides:
                key = build.setting, side.edge, side.forward
                if not changing.isdisjoint(side.names):
                    total += self._resisting(side, way, steps, build)
                else:
                    if key not in beside:
                        beside[key] = self._resisting(side, way, steps, build)
                    total += beside[key]
            found[:, row] = np.log(np.maximum(total, LEAST_FORCE))
        return found

    def _resisting(self, side: DrawnSide, way: DrawnWays, steps: Floats, build: Built) -> Floats:
        """What the paths of one side add to the damping force (draws, velocities). [N]"""
        shares = np.abs(way.shares[:, side.edge])
        there = np.flatnonzero((np.sign(way.shares[0, side.edge]) * self._velocities > 0) == side.forward)
        there = there[np.argsort(np.abs(self._velocities[there]), kind="stable")]
        lifters, tables, knots = self._with_lifts(side, steps, build)
        flows = shares[:, None] * np.abs(self._velocities[there])
        found = np.zeros((steps.shape[0], self._velocities.size))
        for draw in range(steps.shape[0]):
            drops = drops_for_flows(side.plain[draw], lifters[draw], tables[draw], knots[draw], flows[draw])
            found[draw, there] = shares[draw] * drops
        return found

    def _with_lifts(self, side: DrawnSide, steps: Floats, build: Built) -> tuple[Floats, Floats, Floats]:
        """Lifters, tables and knots of one side in every draw, as the flow kernel reads them."""
        count, lifters = steps.shape[0], side.lifters.copy()
        moves = {
            row: self._moves_of(name, build) for row, name in enumerate(side.names) if name in self._felt
        }
        lifted = {row: one.tables(self._trials, steps) for row, one in moves.items()}
        idle = {row: self._idle[name] for row, name in enumerate(side.names) if name in self._idle}
        longest = max([1, *(table.compliance.size for table in idle.values())])
        longest = max([longest, *(compliances.shape[2] for compliances, _ in lifted.values())])
        most_knots = max([1, *(knots.shape[2] for _, knots in lifted.values())])
        tables = np.zeros((count, len(side.names), 2, longest))
        knots = np.zeros((count, len(side.names), 2, most_knots))
        for row, table in idle.items():
            tables[:, row, :, : table.compliance.size] = table.compliance, table.slope
            lifters[:, row, LIFT_COLUMNS] = table.first, table.step, table.compliance.size
        for row, (compliances, shifts) in lifted.items():
            size, logs = shifts.shape[2], moves[row].logs
            tables[:, row, :, :size] = compliances
            knots[:, row, :, :size] = shifts
            knots[:, row, :, size:] = shifts[:, :, -1:]
            lifters[:, row, LIFT_COLUMNS] = logs[0], logs[1] - logs[0], size
        return lifters, tables, knots

    def _moves_of(self, name: str, build: Built) -> StackMoves:
        stack = {**self._present, self._name: build.stack, **dict(build.others)}[name]
        if (name, stack) not in self._moves:
            where = self._where(name, stack)
            self._moves[name, stack] = stack_moves(self._trials, where, felt=self._felt[name])
        return self._moves[name, stack]

    def _where(self, name: str, stack: Stack) -> Callable[[VariedDamper], ShimValve]:
        if stack == self._present[name]:
            return lambda one: one.damper.stack_path(name)
        comes = set(difference(self._present[name], stack).put_in)

        def built(one: VariedDamper) -> ShimValve:
            return one.with_stack(name, stack, stays=lambda place: place not in comes).stack_path(name)

        return built

    def _felt_as_it_is(self) -> dict[str, tuple[float, float]]:
        """Pressures that each stack is lifted at which oil lifts at all. [Pa]"""
        middle = self._trials.middle
        ready, drops, _ = solved(
            middle.damper, velocities=self._velocities, temperature=None, clicks={}, steel=middle.steel
        )
        found = {}
        for edge, along in zip(ready.edges, drops, strict=True):
            for paths, sign in ((edge.forward, 1.0), (edge.backward, -1.0)):
                every = paths.face_pressures(np.maximum(sign * along, 0.0))
                for name, felt in zip(paths.names, every, strict=True):
                    if name in self._idle and felt.max() > 0:
                        found[name] = float(felt[felt > 0].min() / REACH), float(felt.max() * REACH)
        return found
