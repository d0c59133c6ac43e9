"""Is a stack fine enough for a goal, or does the wanted force fall between two of its steps?"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.stack import Stack
from optimiser.goal import Goal, Role, Window

MOST_SHIMS: Final = 12
"""A stack of more shims than this is not called coarse; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Grain:
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


def grain_of(
    *, shifts: Sequence[float], least: float, most: float, shims: int, band: str, others_held: bool = False
) -> Grain | None:
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
    return Grain(band, below, above, said)


def coarse_for(
    goal: Goal,
    *,
    stack: Stack,
    changed: Iterable[Stack],
    forces: Callable[[Stack], NDArray[np.float64]],
    should_stop: Callable[[], bool] | None = None,
) -> Grain | None:
    """Whether a target of a goal falls between the steps of a stack; None also when the user stops it.

    Parameters
    ----------
    goal : that no stack with one change meets.
    stack : as it is.
    changed : every stack one change away.
    forces : resisting force [N] of a stack at each velocity of the goal; nan where there is none.
    should_stop : asked often.

    Notes
    -----
    Forces inside a window at every velocity have a mean over it inside the window's mean ends; a mean outside
    therefore proves that the window is missed.
    """
    if len(stack.shims) > MOST_SHIMS:
        return None
    lowest, highest = goal.least_height - 1e-9, goal.most_height + 1e-9
    tried = []
    for one in changed:
        if should_stop is not None and should_stop():
            return None
        if lowest <= one.height <= highest:
            tried.append(forces(one))
    parts = _parts(goal)
    others = [(window, part) for window, part in parts if window.role is not Role.TARGET]
    kept = [row for row in tried if all(_inside(window, row[part]) for window, part in others)]
    for window, part in parts:
        if window.role is not Role.TARGET:
            continue
        before = np.array(window.before)
        grain = grain_of(
            shifts=[float((row[part] / before).mean()) - 1 for row in kept],
            least=float((np.array(window.lower) / before).mean()) - 1,
            most=float((np.array(window.upper) / before).mean()) - 1,
            shims=len(stack.shims),
            band=window.name,
            others_held=bool(others),
        )
        if grain is not None:
            return grain
    return None


def _parts(goal: Goal) -> list[tuple[Window, slice]]:
    ends = np.cumsum([len(window.velocities) for window in goal.windows])
    return [
        (window, slice(end - len(window.velocities), end))
        for window, end in zip(goal.windows, ends, strict=True)
    ]


def _inside(window: Window, forces: NDArray[np.float64]) -> bool:
    """Whether forces lie in a window; no more than rounding is forgiven."""
    return bool(
        (forces >= np.array(window.lower) * (1 - 1e-9)).all()
        and (forces <= np.array(window.upper) * (1 + 1e-9)).all()
    )
