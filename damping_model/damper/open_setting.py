"""A damper at one setting of its clickers, everything worked out but one of its stacks."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.circuit import Circuit
from damping_model.damper.demand import LARGEST_EXCESS, Demand, face_demand
from damping_model.flow.path_set import PathSet
from damping_model.stack.lift_table import straight_table

Floats = NDArray[np.float64]

NEGLIGIBLE: Final = 1e-13
"""Compliance of the stack that others are compared with where the present one never opens. [m/Pa]"""

STEP: Final = 1.01
"""Factor between the two forces that a demand's change with force is taken from. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class OpenSetting:
    """The damper with one stack left open to change.

    Parameters
    ----------
    ready : the circuit, all paths worked out, the present stack among them.
    edge, forward, row : where the changing stack is.
    velocities : of the shaft. [m/s]
    active : at which of them the stack is pushed open.
    flows : through its edge there. [m^3/s]
    drops : pressure drops with the present stack. [Pa]
    area : what its valve's pressure drop acts on, in a tree of valves. [m^2]
    beside : force that it has no part in, in a tree of valves. [N]
    side : its paths, with the stack in whose lift that of others is expressed.
    others : the paths beside the stack alone.
    own : whether that is the present stack.
    """

    ready: Circuit
    edge: int
    forward: bool
    row: int
    velocities: Floats
    active: NDArray[np.intp]
    flows: Floats
    drops: Floats
    area: float
    beside: Floats
    side: PathSet
    others: PathSet
    own: bool

    @classmethod
    def of(
        cls, ready: Circuit, drops: Floats, flows: Floats, *, name: str, velocities: Floats
    ) -> OpenSetting:
        """Leave the stack of a path open in a circuit that was solved with the present one."""
        edge = next(
            k for k, one in enumerate(ready.edges) if name in (*one.forward.names, *one.backward.names)
        )
        forward = name in ready.edges[edge].forward.names
        sign = 1.0 if forward else -1.0
        active = np.flatnonzero(sign * flows[edge] > 0)
        active = active[np.argsort(np.abs(flows[edge, active]), kind="stable")]
        side = ready.edges[edge].forward if forward else ready.edges[edge].backward
        row = side.names.index(name)
        own = side.opens(row)
        if not own:
            side = side.with_table(row, straight_table(compliance=NEGLIGIBLE))
        area, beside = 0.0, np.zeros(velocities.size)
        if ready.shares is not None:
            area = float(ready.shares[edge])
            beside = _forces(drops, flows, velocities)
            beside[active] -= area * drops[edge, active]
            area *= sign
        through = sign * flows[edge, active]
        return cls(
            ready,
            edge,
            forward,
            row,
            velocities,
            active,
            through,
            drops,
            area,
            beside,
            side,
            side.without(row),
            own,
        )

    @property
    def keeps_order(self) -> bool:
        """Whether the valves close no loop."""
        return self.ready.shares is not None

    def solved(self, side: PathSet) -> tuple[Floats, Floats]:
        """Forces with other paths on the changing stack's side, and the pressure drops that push it open."""
        if self.keeps_order:
            drops = side.drops(self.flows)
            forces = self.beside.copy()
            forces[self.active] += self.area * drops
            return forces, drops
        every, flows = self.changed(side).solve(self.velocities, start=self.drops)
        push = every[self.edge] if self.forward else -every[self.edge]
        return _forces(every, flows, self.velocities), np.maximum(push, 0.0)

    def changed(self, side: PathSet) -> Circuit:
        """The damper with other paths on the changing stack's side."""
        edges = list(self.ready.edges)
        old = edges[self.edge]
        edges[self.edge] = replace(old, forward=side) if self.forward else replace(old, backward=side)
        return replace(self.ready, edges=tuple(edges))

    def felt(self) -> Floats:
        """Pressures above 0 on the face of the present stack. [Pa]"""
        sign = 1.0 if self.forward else -1.0
        felt = self.side.face_pressures(np.maximum(sign * self.drops[self.edge], 0.0))[self.row]
        return np.asarray(felt[felt > 0])

    def demand(self, place: int, force: float) -> Demand | float:
        """What a stack would have to do for a force at one velocity.

        A logarithm of the force over it where no stack changes that: what lies beside it alone gives more, or
        less.

        Parameters
        ----------
        place : of the velocity.
        force : of the same sign as the velocity, not zero. [N]
        """
        if not (self.active == place).any():
            alone = np.log(max(self.beside[place] / force, 1e-9))
            return float(np.clip(alone, -LARGEST_EXCESS, LARGEST_EXCESS))
        flow = float(self.flows[(self.active == place).argmax()])
        here, more = (
            face_demand(
                self.side,
                self.row,
                others=self.others,
                flow=flow,
                drop=(one - self.beside[place]) / self.area,
            )
            for one in (force, force * STEP)
        )
        if isinstance(here, float):
            return here
        powers = (0.0, -1.0)
        if not isinstance(more, float):
            powers = tuple(np.log(np.array(more) / np.array(here)) / np.log(STEP))
        return Demand(*here, *powers)


def _forces(drops: Floats, flows: Floats, velocities: Floats) -> Floats:
    work = (drops * flows).sum(axis=0)
    return np.asarray(np.divide(work, velocities, out=np.zeros_like(work), where=velocities != 0))
