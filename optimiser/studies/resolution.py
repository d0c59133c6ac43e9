"""How fine a stack's steps are: what one change does to each band, while the other bands keep their place."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.goal import Goal, Role, Window, mean_change, mean_limits, room_around_desired
from optimiser.studies.steps_around import StepsAround, steps_around

Floats = NDArray[np.float64]

NEAR: Final = 0.10
"""Shifts up to this count as near zero: what one change is asked for, mostly. [-]"""

ROUNDING: Final = 1e-9
"""Share of the force that is forgiven a window. [-]"""

HEIGHT_ROUNDING: Final = 1e-9
"""What is forgiven a height. [m]"""

SAME_STEP: Final = 1e-4
"""Shifts closer than this are one step, and none at all when they are this small. [-]"""


@dataclass(frozen=True, slots=True)
class BandSteps:
    """What one change can do to a band.

    Parameters
    ----------
    window : the band, with its forces as they are.
    steps : average shift of the band for each change that moves it, in rising order, equal ones once. [-]
    held : those of them that keep every other band within its tolerance. [-]
    around : where they lie beside what the job asks; None for a band that is not to move.
    """

    window: Window
    steps: tuple[float, ...]
    held: tuple[float, ...]
    around: StepsAround | None = None

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
    meeting : how many of them do all that the job asks.
    complete : whether those were all there are; False when the user stopped it.
    """

    bands: tuple[BandSteps, ...]
    changes: int
    meeting: int
    complete: bool

    @property
    def around(self) -> tuple[StepsAround, ...]:
        """Where the steps lie beside what each target asks."""
        return tuple(band.around for band in self.bands if band.around is not None)


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
    goal : its bands, tolerances and heights; where its targets are to go counts for nothing but ``around``.
    changed : every stack one change away.
    forces : damping force [N] of a stack at each velocity of the goal; nan where there is none.
    should_stop : asked before each stack.
    """
    rows: list[Floats] = []
    complete = True
    for one in changed:
        if should_stop is not None and should_stop():
            complete = False
            break
        if fits(one, goal):
            row = forces(one)
            if np.isfinite(row).all():
                rows.append(row)
    tried = np.array(rows).reshape(len(rows), goal.before.size)
    windows = goal.parts
    keeps = {number: _keeps(window, tried[:, part]) for number, (window, part) in enumerate(windows)}
    limits = [window for window in windows if window[0].role is not Role.TARGET]
    limited = keeps_limits(limits, tried)
    bands = []
    for number, (window, part) in enumerate(windows):
        if window.role not in {Role.TARGET, Role.HOLD}:
            continue
        shifts = mean_shifts(window, tried[:, part])
        others = [keep for other, keep in keeps.items() if other != number]
        held = np.logical_and.reduce(others) if others else np.ones(len(rows), dtype=bool)
        around = None
        if window.role is Role.TARGET:
            least, most = mean_limits(window)
            around = steps_around(
                shifts=shifts[limited].tolist(),
                least=least,
                most=most,
                band=window.name,
                others_held=bool(limits),
            )
        bands.append(BandSteps(window, _steps(shifts), _steps(shifts[held]), around))
    meeting = sum(rank.misfit(goal, row) <= ROUNDING for row in tried)
    return Steps(tuple(bands), len(rows), meeting, complete)


def fits(stack: Stack, goal: Goal) -> bool:
    """Whether a stack keeps the heights of a goal."""
    return goal.least_height - HEIGHT_ROUNDING <= stack.height <= goal.most_height + HEIGHT_ROUNDING


def keeps_limits(
    windows: Iterable[tuple[Window, slice]], forces: Floats, *, spared: float = ROUNDING
) -> NDArray[np.bool_]:
    """Which rows of forces lie in some windows, or miss them by no more than a share.

    Parameters
    ----------
    windows : with their places among the velocities.
    forces : damping force at each velocity of the goal (rows, velocities). [N]
    spared : the share. [-]
    """
    kept = np.ones(len(forces), dtype=bool)
    for window, part in windows:
        low, high = np.array(window.lower) * (1 - spared), np.array(window.upper) * (1 + spared)
        kept &= ((forces[:, part] >= low) & (forces[:, part] <= high)).all(axis=1)
    return kept


def mean_shifts(window: Window, forces: Floats) -> Floats:
    """Average change of a band over the logarithm of velocity, for each row of forces. [-]"""
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
