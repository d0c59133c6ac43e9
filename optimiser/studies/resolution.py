"""How fine a stack's steps are: what one change does to each band, while the other bands keep their place."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.model.goal import Goal, Role, Window, mean_change, room_around_desired

Floats = NDArray[np.float64]

NEAR: Final = 0.10
"""Shifts up to this count as near zero: what one change is asked for, mostly. [-]"""

SAME_STEP: Final = 1e-4
"""Shifts closer than this are one step, and none at all when they are this small. [-]"""


@dataclass(frozen=True, slots=True)
class BandSteps:
    """What one change can do to a band.

    Parameters
    ----------
    window : the band, with its forces as they are.
    steps : mean shift of the band for each change that moves it, in rising order, equal ones once. [-]
    held : those of them that keep every other band within its tolerance. [-]
    """

    window: Window
    steps: tuple[float, ...]
    held: tuple[float, ...]

    @property
    def up(self) -> float | None:
        """Smallest step up that keeps the other bands; None when there is none. [-]"""
        return min((step for step in self.held if step > 0), default=None)

    @property
    def down(self) -> float | None:
        """Smallest step down that keeps the other bands, below zero; None when there is none. [-]"""
        return max((step for step in self.held if step < 0), default=None)

    @property
    def mean_gap(self) -> float:
        """Mean width of the pieces into which zero and the held steps part the range near zero. [-]"""
        return float(np.diff(self._cuts()).mean())

    @property
    def widest_gap(self) -> float:
        """Widest of those pieces: a wish in the middle of it is missed by half of it. [-]"""
        return float(np.diff(self._cuts()).max())

    def _cuts(self) -> list[float]:
        return sorted({-NEAR, 0.0, NEAR, *(step for step in self.held if abs(step) < NEAR)})


@dataclass(frozen=True, slots=True)
class Steps:
    """What single changes do.

    Parameters
    ----------
    bands : one entry a band that the job moves or holds.
    changes : how many stacks were tried.
    complete : whether those were all there are; False when the user stopped it.
    """

    bands: tuple[BandSteps, ...]
    changes: int
    complete: bool


def asked_bands(goal: Goal) -> tuple[tuple[Window, slice], ...]:
    """Windows that a job moves or holds, each with its place among the goal's velocities."""
    return tuple((window, part) for window, part in goal.parts if window.role in {Role.TARGET, Role.HOLD})


def single_steps(
    goal: Goal,
    *,
    changed: Iterable[Stack],
    forces: Callable[[Stack], Floats],
    should_stop: Callable[[], bool] | None = None,
) -> Steps:
    """What every single change does to every band of a goal.

    Parameters
    ----------
    goal : its bands, tolerances and heights; where its targets are to go counts for nothing.
    changed : every stack one change away.
    forces : resisting force [N] of a stack at each velocity of the goal; nan where there is none.
    should_stop : asked before each stack.
    """
    rounding = 1e-9
    rows: list[Floats] = []
    complete = True
    for one in changed:
        if should_stop is not None and should_stop():
            complete = False
            break
        if goal.least_height - rounding <= one.height <= goal.most_height + rounding:
            row = forces(one)
            if np.isfinite(row).all():
                rows.append(row)
    tried = np.array(rows).reshape(len(rows), goal.before.size)
    windows = goal.parts
    keeps = {number: _keeps(window, tried[:, part]) for number, (window, part) in enumerate(windows)}
    bands = []
    for number, (window, part) in enumerate(windows):
        if window.role not in {Role.TARGET, Role.HOLD}:
            continue
        shifts = mean_shifts(window, tried[:, part])
        others = [keep for other, keep in keeps.items() if other != number]
        held = np.logical_and.reduce(others) if others else np.ones(len(rows), dtype=bool)
        bands.append(BandSteps(window, _steps(shifts), _steps(shifts[held])))
    return Steps(tuple(bands), len(rows), complete)


def mean_shifts(window: Window, forces: Floats) -> Floats:
    """Mean change of a band, over the logarithm of velocity, for each row of forces at its velocities. [-]"""
    return np.asarray(np.expm1(mean_change(window, forces)))


def _keeps(window: Window, forces: Floats) -> NDArray[np.bool_]:
    """Which rows stay as near to the force before as the band's tolerance allows around the desired force."""
    before, (below, above) = np.array(window.before), room_around_desired(window)
    low, high = before - below, before + above
    slack = 1e-9 * np.abs(before)
    return np.asarray(((forces >= low - slack) & (forces <= high + slack)).all(axis=1))


def _steps(shifts: Sequence[float] | Floats) -> tuple[float, ...]:
    """Shifts in rising order; those that do nothing left out, equal ones once."""
    kept: list[float] = []
    for shift in sorted(float(s) for s in shifts if abs(s) > SAME_STEP):
        if not kept or shift - kept[-1] > SAME_STEP:
            kept.append(shift)
    return tuple(kept)
