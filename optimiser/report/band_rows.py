"""The table of bands: for each window of the goal, the velocity where it is tightest."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from optimiser.model.band_result import BandResult, BandVerdict, band_result
from optimiser.model.goal import Goal, Role, Window


@dataclass(frozen=True, slots=True)
class BandRow:
    """One band: on average where that is asked, else where it comes nearest to its limits.

    Parameters
    ----------
    mark : the letter that the band carries in the curves.
    name, role : what the band is called and why it is there.
    stroke : compression or rebound.
    low, high : slowest and fastest velocity of the band, not negative. [m/s]
    velocity : where the forces of this row are read, not negative; None for the mean over the band. [m/s]
    before, after : resisting force as it is and as it will be. [N]
    least_change, most_change : what is allowed, as shares of the force before. [-]
    result : mean and range of the change, and the verdict.
    """

    mark: str
    name: str
    role: Role
    stroke: str
    low: float
    high: float
    velocity: float | None
    before: float
    after: float
    least_change: float
    most_change: float
    result: BandResult

    @property
    def change(self) -> float:
        """Change as a share of the force before. [-]"""
        return share(self.after, self.before)

    @property
    def within(self) -> bool:
        """Whether the band keeps its limits."""
        return self.result.verdict is BandVerdict.KEPT


def share(force: float, before: float) -> float:
    """Change to a force [N] as a share of the force before [N]; 'nan' where there was none. [-]"""
    return force / before - 1 if before else math.nan


def band_rows(goal: Goal, forces: Sequence[float]) -> tuple[BandRow, ...]:
    """Rows for all windows of a goal.

    Parameters
    ----------
    goal : what was asked for.
    forces : resisting force of the candidate at each velocity of the goal. [N]

    Raises
    ------
    ValueError
        When there is not one force for each velocity.
    """
    if len(forces) != len(goal.velocities):
        raise ValueError(
            f"got {len(forces)} forces, expected one for each of {len(goal.velocities)} velocities."
        )
    return tuple(
        _row(mark, window, forces[part]) for mark, (window, part) in zip(marks(), goal.parts, strict=False)
    )


def marks() -> Iterator[str]:
    """Letters for bands: A to Z, then AA to ZZ and so on."""
    letters = [chr(code) for code in range(ord("A"), ord("Z") + 1)]
    names = letters
    while True:
        yield from names
        names = [first + letter for first in names for letter in letters]


def _row(mark: str, window: Window, after: Sequence[float]) -> BandRow:
    speeds = [abs(velocity) for velocity in window.velocities]
    result = band_result(window, after)
    place = None if window.average is not None else result.tightest
    return BandRow(
        mark=mark,
        name=window.name,
        role=window.role,
        stroke="compression" if window.velocities[0] >= 0 else "rebound",
        low=min(speeds),
        high=max(speeds),
        velocity=None if place is None else speeds[place],
        before=result.before if place is None else window.before[place],
        after=result.after if place is None else after[place],
        least_change=result.allowed[0],
        most_change=result.allowed[1],
        result=result,
    )
