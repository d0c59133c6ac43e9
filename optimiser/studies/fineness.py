"""Is a stack fine enough for a goal, or does the wanted force fall between two of its steps?

The steps are those of :mod:`optimiser.studies.resolution`. Here only the few that count are worked out whole.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import cache, partial
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.model.goal import Goal, Role, Window, mean_limits
from optimiser.studies.resolution import ROUNDING, fits, keeps_limits, mean_shifts
from optimiser.studies.steps_around import MOST_SHIMS, StepsAround, steps_around

Floats = NDArray[np.float64]

OFF: Final = 0.03
"""Share by which a coarse force near the goal may lie off the force curve. [-]"""

FURTHER: Final = 0.25
"""How much further off it may lie for each share of force that it lies away from the goal. [-]"""


def coarse_steps(
    goal: Goal,
    *,
    stack: Stack,
    changed: Iterable[Stack],
    coarse: Callable[[Stack], Floats],
    forces: Callable[[Stack], Floats],
    should_stop: Callable[[], bool] | None = None,
) -> StepsAround | None:
    """The target of a goal for which a stack is too coarse; None where there is none or the user stops it.

    Parameters
    ----------
    goal : that no stack with one change meets.
    stack : as it is.
    changed : every stack one change away.
    coarse : damping force [N] of a stack at each velocity of the goal, coarsely (:data:`OFF`); nan where
        there is none. Asked of all, to tell which few are worth the whole force curve.
    forces : the same by the whole force curve.
    should_stop : asked often.

    Notes
    -----
    Forces inside a window at every velocity have a mean over it inside the window's mean ends; a mean outside
    therefore proves that the window is missed.
    """
    shims = len(stack.shims)
    if shims > MOST_SHIMS:
        return None
    others = [(window, part) for window, part in goal.parts if window.role is not Role.TARGET]
    kept: list[tuple[Floats, Stack]] = []
    for one in changed:
        if should_stop is not None and should_stop():
            return None
        if fits(one, goal) and _keeps(others, row := coarse(one), spared=OFF):
            kept.append((row, one))
    exactly = cache(forces)
    for window, part in goal.parts:
        if window.role is not Role.TARGET:
            continue
        least, most = mean_limits(window)
        shift = partial(_shift, window=window, part=part)
        around = steps_around(
            shifts=_nearest_steps(
                [(shift(row), one) for row, one in kept],
                partial(_held_shift, forces=exactly, others=others, shift=shift),
                least=least,
                most=most,
            ),
            least=least,
            most=most,
            band=window.name,
            others_held=bool(others),
        )
        if around.too_coarse(shims=shims):
            return around
    return None


def _shift(forces: Floats, *, window: Window, part: slice) -> float:
    """Mean relative change of a band with some forces. [-]"""
    return float(mean_shifts(window, forces[np.newaxis, part])[0])


def _held_shift(
    one: Stack,
    *,
    forces: Callable[[Stack], Floats],
    others: Sequence[tuple[Window, slice]],
    shift: Callable[[Floats], float],
) -> float | None:
    """What a stack shifts a band by; None when it does not keep the others."""
    row = forces(one)
    return shift(row) if _keeps(others, row) else None


def _nearest_steps(
    estimated: Sequence[tuple[float, Stack]],
    exactly: Callable[[Stack], float | None],
    *,
    least: float,
    most: float,
) -> list[float]:
    """Steps between which a goal may fall, among them the nearest on either side; others are left out.

    Parameters
    ----------
    estimated : stacks and what they shift the band by, by coarse forces.
    exactly : what a stack shifts it by; None for one that does not keep the held bands.
    least, most : shift wanted.
    """
    shifts = [0.0, *(shift for shift, _ in estimated)]
    if max(shifts) < most - _error_bound(most - max(shifts)) or min(shifts) > least + _error_bound(
        min(shifts) - least
    ):
        return []  # the goal lies beyond every step
    found: list[float] = []
    below, above = -np.inf, np.inf
    for shift, one in sorted(estimated, key=lambda each: max(least - each[0], each[0] - most)):
        near_enough = (
            shift + _error_bound(least - shift) >= below and shift - _error_bound(shift - most) <= above
        )
        if near_enough and (step := exactly(one)) is not None:
            found.append(step)
            if step < least:
                below = max(below, step)
            elif step > most:
                above = min(above, step)
            else:
                break
    return found


def _error_bound(distance: float) -> float:
    """Error bound of a coarse shift at a distance from the goal."""
    return OFF + FURTHER * max(distance, 0.0)


def _keeps(windows: Sequence[tuple[Window, slice]], forces: Floats, *, spared: float = ROUNDING) -> bool:
    """Whether there are forces, and they lie in windows or miss them by no more than a share."""
    return bool(np.isfinite(forces).all() and keeps_limits(windows, forces[np.newaxis], spared=spared)[0])
