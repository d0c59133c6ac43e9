"""What oil meets on its way through a drawn damper, but for the lift of the stacks: one row for each draw."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.circuit import Circuit, circuit
from damping_model.flow.path_set import PathSet
from damping_model.stack.lift_table import LiftTable
from optimiser.spread.trials import Trials
from optimiser.unknowns.unknown import Owner
from optimiser.unknowns.varied import OF_SHIMS, VariedDamper

Floats = NDArray[np.float64]

OF_THE_PLATES: Final = OF_SHIMS | {Owner.STEEL}
"""Whose figures are no way for oil."""

LIFT_COLUMNS: Final = slice(7, 10)
"""Columns of a lifter that say where its table lies, where it is a stack."""


@dataclass(frozen=True, slots=True, eq=False)
class DrawnSide:
    """The paths of one edge in one direction.

    Parameters
    ----------
    edge : its place in the circuit.
    forward : whether oil goes the edge's own way.
    names : of the lifters.
    plain, lifters : as a path set has them, for each draw (draws, paths, 2), (draws, lifters, columns).
    """

    edge: int
    forward: bool
    names: tuple[str, ...]
    plain: Floats
    lifters: Floats


@dataclass(frozen=True, slots=True, eq=False)
class DrawnWays:
    """A damper's ways for oil at one setting of its clickers.

    Parameters
    ----------
    shares : flow of each edge for a shaft velocity of one (draws, edges). [m^2]
    sides : of the edges that oil goes through, in the directions that it goes.
    """

    shares: Floats
    sides: tuple[DrawnSide, ...]


def drawn_ways(
    trials: Trials,
    steps: Floats,
    *,
    clicks: Mapping[str, int],
    tables: Mapping[str, LiftTable],
    strokes: frozenset[int],
) -> DrawnWays:
    """The ways of every draw.

    Every resistance is taken as the product of what each direction makes of it: so it is, to rounding, for
    areas, coefficients and viscosities that are factors.

    Parameters
    ----------
    trials : along each direction.
    steps : in every direction (draws, directions).
    clicks : positions of the clickers.
    tables : any lift of every stack.
    strokes : signs of the velocities that matter.
    """

    def ready(one: VariedDamper) -> Circuit:
        oil = one.damper.oil.at(temperature=one.damper.temperature)
        return circuit(one.damper, oil=oil, clicks=clicks, tables=tables)

    middle = ready(trials.middle)
    assert middle.shares is not None  # noqa: S101 - a stack is planned only where valves close no ring
    others = {
        (trial.direction, place): ready(one)
        for trial in trials.along
        if not trial.owners <= OF_THE_PLATES
        for place, one in enumerate(trial.dampers)
    }

    def drawn(of: Callable[[Circuit], Floats]) -> Floats:
        """A figure of the circuit that has one sign, for each draw."""
        base = of(middle)
        logs = np.zeros((steps.shape[0], *base.shape))
        for trial in trials.along:
            moved = np.zeros((trial.steps.size, *base.shape))
            for place in range(trial.steps.size):
                other = others.get((trial.direction, place))
                if other is not None:
                    moved[place] = _log_ratio(of(other), base)
            if moved.any():
                weights = trial.weights(steps[:, trial.direction])
                logs += np.tensordot(weights, moved, axes=1)
        return np.asarray(base * np.exp(logs))

    def plain_of(edge: int, forward: bool) -> Callable[[Circuit], Floats]:
        names = _side(middle, edge, forward).plain_names

        def of(one: Circuit) -> Floats:
            side = _side(one, edge, forward)
            rows = dict(zip(side.plain_names, side.plain[1:], strict=True))
            closed = np.zeros(2)  # a needle that is shut stays shut
            return np.array([side.plain[0], *(rows.get(name, closed) for name in names)])

        return of

    sides = []
    for edge, forward in sorted(
        {(k, sign * share > 0) for k, share in enumerate(middle.shares) for sign in strokes if share != 0}
    ):
        names = _side(middle, edge, forward).names
        plain = drawn(plain_of(edge, forward))
        lifters = drawn(lambda one, k=edge, there=forward: _side(one, k, there).lifters)  # type: ignore[misc]
        sides.append(DrawnSide(edge, forward, names, plain, lifters))
    return DrawnWays(drawn(_shares), tuple(sides))


def _side(one: Circuit, edge: int, forward: bool) -> PathSet:
    return one.edges[edge].forward if forward else one.edges[edge].backward


def _shares(one: Circuit) -> Floats:
    assert one.shares is not None  # noqa: S101 - as above
    return one.shares


def _log_ratio(other: Floats, base: Floats) -> Floats:
    """Logarithm of the ratio; 0 where either is 0."""
    known = (base * other) > 0
    return np.log(np.divide(other, base, out=np.ones_like(base), where=known))
