"""How far a stack lifts in every draw, from what each direction does to the pressure that a lift takes."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from damping_model.errors import ModelError
from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.lift import lift_curve
from damping_model.stack.lift_table import LOWEST, PER_DECADE
from damping_model.stack.steel import SpringSteel
from optimiser.spread.drawn_ways import OF_THE_PLATES
from optimiser.spread.trials import Trials
from optimiser.unknowns.varied import VariedDamper

Floats = NDArray[np.float64]

KNOTS_PER_DECADE: Final = 32
"""Pressures in a decade at which a moved stack is lifted. [-]"""

LEAST_STEP: Final = 1e-9
"""Knots that fall together lie apart by this. [-]"""

FAR_BELOW: Final = 1e-3
"""A lip as far below the hub as this never bears on a stack. [m]"""

STEEPEST: Final = 30.0
"""Most power of pressure that a lift is followed by below the first pressure, where a lip just opens. [-]"""

Where = Callable[[VariedDamper], ShimValve]
"""The stack in its place in a damper that was moved."""


@dataclass(frozen=True, slots=True, eq=False)
class StackMoves:
    r"""One stack in its place, and what each direction does to it.

    Parameters
    ----------
    rise : of the face over a level lip that never bears on it, and its slope (2, pressures). [m]
    logs : logarithms of evenly spaced pressures (pressures,). [Pa]
    shifts : for each trial by how much the logarithm of pressure moves (steps, pressures), or None.
    seat : height of the lip in the middle [m], and for each trial its moves (steps,); none likewise.
    together : for two trials by their places, what both add beyond their sum for the product of their steps
        (pressures,); those that add nothing are left out.

    Notes
    -----
    A lip of height h takes h from the rise, and nothing else: once the face has left it, nothing of it bears
    on the stack. So its height is no direction of the plates. A stack that every direction makes stiffer by a
    factor takes so much more pressure for the same lift; the logarithms of those factors add, but for
    thicknesses: of a pack of two the one does less the thicker the other is.
    """

    logs: Floats
    rise: Floats
    shifts: tuple[Floats | None, ...]
    seat: tuple[float, tuple[Floats | None, ...]]
    together: tuple[tuple[tuple[int, int], Floats], ...] = ()

    def tables(self, trials: Trials, steps: Floats) -> tuple[Floats, Floats]:
        """Lift of every draw as the flow kernel reads it.

        Parameters
        ----------
        trials : along each direction.
        steps : in every direction (draws, directions).

        Returns
        -------
        Compliance and its slope, and knots with their shifts (draws, 2, pressures).
        """
        count = steps.shape[0]
        moved = np.zeros((count, self.logs.size))
        height = np.full(count, self.seat[0])
        for trial, shifts, heights in zip(trials.along, self.shifts, self.seat[1], strict=True):
            if shifts is None and heights is None:
                continue
            weights = trial.weights(steps[:, trial.direction])
            if shifts is not None:
                moved += weights @ shifts
            if heights is not None:
                height += weights @ heights
        for places, both in self.together:
            one, other = (
                np.clip(steps[:, trial.direction], *trial.limits)
                for trial in (trials.along[place] for place in places)
            )
            moved += (one * other)[:, None] * both
        pressures = np.exp(self.logs)
        lift = np.maximum(self.rise[0] - height[:, None], 0.0)
        table = np.stack([lift, np.where(lift > 0, self.rise[1] - lift, 0.0)], axis=1)
        table[:, 1, 0] = np.minimum(table[:, 1, 0], STEEPEST * table[:, 0, 0])
        rising = np.maximum.accumulate(self.logs + moved, axis=1) + LEAST_STEP * np.arange(self.logs.size)
        return table / pressures, np.stack([rising, self.logs - rising], axis=1)


def stack_moves(trials: Trials, where: Where, *, felt: tuple[float, float]) -> StackMoves:
    """Lift a stack along every direction.

    Parameters
    ----------
    trials : along each direction.
    where : finds the stack.
    felt : least and most pressure that its lift is wanted at. [Pa]

    Raises
    ------
    ModelError
        When the stack cannot be lifted with every figure where it most likely is, or a ring preloads it.
    """
    own, steel = where(trials.middle), trials.middle.steel
    step = math.log(10) / PER_DECADE
    first, last = (math.log(one / LOWEST) / step for one in felt)
    logs = math.log(LOWEST) + step * np.arange(math.floor(first), math.ceil(last) + 1, dtype=float)
    pressures = np.exp(logs)
    rise = _rise(own, steel, pressures)
    compliance = PchipInterpolator(logs, rise / pressures)
    slope = pressures * np.asarray(compliance.derivative()(logs)) + rise
    if (rise <= 0).any():
        # a ring presses its face below the hub, and lifts are interpolated by their logarithm
        raise ModelError(
            f"'{own.name}' is preloaded by its ring beyond what drawn dampers are worked out for, so no "
            "chance can be asked of it. Plan it without --confidence."
        )
    fine = np.linspace(logs[0] - 1.0, logs[-1] + 1.0, 40 * logs.size)
    fine_logs = np.log(np.asarray(compliance(np.clip(fine, logs[0], logs[-1])))) + fine

    def moved(path: ShimValve, of: SpringSteel, before: Floats) -> Floats:
        if _plates(path, of) == _plates(own, steel):
            return np.zeros(logs.size)
        try:
            lifted = _rise(path, of, pressures)
        except ModelError:
            return before
        same = np.interp(np.log(lifted), fine_logs, fine)  # pressures at which the middle one lifts as much
        return np.asarray(np.interp(logs, same, logs - same), dtype=float)

    shifts: list[Floats | None] = []
    heights: list[Floats | None] = []
    for trial in trials.along:
        if trial.owners.isdisjoint({own.name, *OF_THE_PLATES}):
            shifts.append(None)
            heights.append(None)
            continue
        paths = [where(one) for one in trial.dampers]
        rows = np.zeros((trial.steps.size, logs.size))
        for place in np.argsort(np.abs(trial.steps), kind="stable"):  # outwards: one that fails stays behind
            inner = place + (1 if trial.steps[place] < 0 else -1)
            stands = 0 <= inner < trial.steps.size and trial.steps[inner] * trial.steps[place] > 0
            before = rows[inner] if stands else np.zeros(logs.size)
            rows[place] = moved(paths[place], trial.dampers[place].steel, before)
        lips = np.array([path.seat.seat_height - own.seat.seat_height for path in paths])
        shifts.append(rows if rows.any() else None)
        heights.append(lips if lips.any() else None)
    return StackMoves(
        together=tuple(_beyond_their_sum(trials, shifts, where, moved)),
        rise=np.array([rise, slope]),
        logs=logs,
        shifts=tuple(shifts),
        seat=(own.seat.seat_height, tuple(heights)),
    )


def _beyond_their_sum(
    trials: Trials,
    shifts: Sequence[Floats | None],
    where: Where,
    moved: Callable[[ShimValve, SpringSteel, Floats], Floats],
) -> Iterator[tuple[tuple[int, int], Floats]]:
    """What each two thicknesses do to a stack together beyond the sum, for the product of their steps."""
    for pair in trials.together:
        alone: Floats | float = 0.0
        for place, step in zip(pair.places, pair.steps, strict=True):
            row = shifts[place]
            if row is None:
                break
            alone = alone + trials.along[place].weights(np.array([step]))[0] @ row
        else:
            alone = np.asarray(alone)
            both = moved(where(pair.damper), pair.damper.steel, alone)
            yield pair.places, (both - alone) / (pair.steps[0] * pair.steps[1])


def _rise(path: ShimValve, steel: SpringSteel, pressures: Floats) -> Floats:
    """Rise of the face over a lip that is level with the hub, wherever the lip is (pressures,). [m]"""
    out_of_reach = replace(path.seat, seat_height=-FAR_BELOW)
    packed = path.packed(path.stack, steel=steel)
    curve = lift_curve(
        packed, seat=out_of_reach, load=path.face_pressure, pressures=pressures, exact_slope=False
    )
    return np.asarray(curve.seat_lift - FAR_BELOW)


def _plates(path: ShimValve, steel: SpringSteel) -> tuple[object, ...]:
    """What the plates depend on."""
    return path.stack, replace(path.seat, seat_height=0.0), path.face_pressure, path.interface_load, steel
