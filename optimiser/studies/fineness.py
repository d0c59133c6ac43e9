"""Is a stack fine enough for a goal, or does the wanted force fall between two of its steps?"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cache, partial
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.model.goal import Goal, Role, Window, mean_limits
from optimiser.studies.resolution import mean_shifts

Floats = NDArray[np.float64]

MOST_SHIMS: Final = 12
"""A stack of more shims than this is not called coarse; common practice, no source."""

OFF: Final = 0.03
"""Share by which a coarse force near the goal may lie off the force curve. [-]"""

FURTHER: Final = 0.25
"""How much further off it may lie for each share of force that it lies away from the goal. [-]"""

ROUNDING: Final = 1e-9
"""Share of the force that is forgiven a window. [-]"""


@dataclass(frozen=True, slots=True)
class CoarseSteps:
    """The two steps of a stack between which a goal falls.

    Parameters
    ----------
    band : the target's name.
    below, above : nearest changes of the band on either side of the goal that one change of a shim makes,
        as shares of the force before. [-]
    said : in a sentence, with the figures.
    """

    band: str
    below: float
    above: float
    said: str


def steps_around(
    *, shifts: Sequence[float], least: float, most: float, shims: int, band: str, others_held: bool = False
) -> CoarseSteps | None:
    """The steps on both sides of a goal; None when a step lands in it, or all lie on one side.

    Parameters
    ----------
    shifts : mean change of the band for each single change of a shim, as shares of the force before. [-]
    least, most : of the mean change that the goal allows, likewise. [-]
    shims : how many the stack has.
    band : the target's name.
    others_held : whether only changes that keep held bands are among the shifts; it is said.
    """
    reached = (0.0, *shifts)
    below = max((shift for shift in reached if shift < least), default=None)
    above = min((shift for shift in reached if shift > most), default=None)
    if below is None or above is None or any(least <= shift <= most for shift in reached):
        return None
    held = " that keeps the held bands" if others_held else ""
    said = (
        f"The stack of {shims} shims is too coarse for this goal: one change{held} moves '{band}' "
        f"by {below:+.1%} or by {above:+.1%} and lands nowhere between, "
        f"while {least:+.1%} to {most:+.1%} is wanted. "
        "Rebuild it from more, thinner shims of the same curve first."
    )
    return CoarseSteps(band, below, above, said)


def coarse_steps(
    goal: Goal,
    *,
    stack: Stack,
    changed: Iterable[Stack],
    coarse: Callable[[Stack], Floats],
    forces: Callable[[Stack], Floats],
    should_stop: Callable[[], bool] | None = None,
) -> CoarseSteps | None:
    """Whether a target of a goal falls between the steps of a stack; None also when the user stops it.

    Parameters
    ----------
    goal : that no stack with one change meets.
    stack : as it is.
    changed : every stack one change away.
    coarse : resisting force [N] of a stack at each velocity of the goal, coarsely (:data:`OFF`); nan where
        there is none. Asked of all, to tell which few are worth the whole force curve.
    forces : the same by the whole force curve.
    should_stop : asked often.

    Notes
    -----
    Forces inside a window at every velocity have a mean over it inside the window's mean ends; a mean outside
    therefore proves that the window is missed.
    """
    if len(stack.shims) > MOST_SHIMS:
        return None
    lowest, highest = goal.least_height - 1e-9, goal.most_height + 1e-9
    parts = goal.parts
    others = [(window, part) for window, part in parts if window.role is not Role.TARGET]
    kept: list[tuple[Floats, Stack]] = []
    for one in changed:
        if should_stop is not None and should_stop():
            return None
        if lowest <= one.height <= highest and _keeps(others, row := coarse(one), spared=OFF):
            kept.append((row, one))
    exactly = cache(forces)
    for window, part in parts:
        if window.role is not Role.TARGET:
            continue
        least, most = mean_limits(window)
        shift = partial(_shift, window=window, part=part)
        steps = steps_around(
            shifts=_nearest_steps(
                [(shift(row), one) for row, one in kept],
                partial(_held_shift, forces=exactly, others=others, shift=shift),
                least=least,
                most=most,
            ),
            least=least,
            most=most,
            shims=len(stack.shims),
            band=window.name,
            others_held=bool(others),
        )
        if steps is not None:
            return steps
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


def _keeps(windows: Iterable[tuple[Window, slice]], forces: Floats, *, spared: float = ROUNDING) -> bool:
    """Whether forces lie in windows, or miss them by no more than a share."""
    return all(
        (forces[part] >= np.array(window.lower) * (1 - spared)).all()
        and (forces[part] <= np.array(window.upper) * (1 + spared)).all()
        for window, part in windows
    )
