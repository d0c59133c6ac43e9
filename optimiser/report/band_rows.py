"""The table of bands: for each window of the goal, the velocity where it is tightest."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from optimiser.model.goal import Goal, Role, Window

SLACK = 1e-9
"""Share of the force by which a force may miss its limit and still count as on it. [-]"""


@dataclass(frozen=True, slots=True)
class BandRow:
    """One band, judged where it comes nearest to its limits or lies furthest outside them.

    Parameters
    ----------
    mark : the letter that the band carries in the curves.
    name, role : what the band is called and why it is there.
    stroke : compression or rebound.
    low, high : slowest and fastest velocity of the band, not negative. [m/s]
    velocity : where the forces of this row are read, not negative. [m/s]
    before, after, desired : resisting force as it is, as it will be, as it was wanted. [N]
    least, most : what is allowed. [N]
    within : whether every velocity of the band keeps its limits.
    """

    mark: str
    name: str
    role: Role
    stroke: str
    low: float
    high: float
    velocity: float
    before: float
    after: float
    desired: float
    least: float
    most: float
    within: bool

    @property
    def change(self) -> float:
        """Change as a share of the force before. [-]"""
        return share(self.after, self.before)

    @property
    def least_change(self) -> float:
        """Least change allowed, as a share of the force before. [-]"""
        return share(self.least, self.before)

    @property
    def most_change(self) -> float:
        """Most change allowed, as a share of the force before. [-]"""
        return share(self.most, self.before)


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
    rows, start = [], 0
    if len(forces) != len(goal.velocities):
        raise ValueError(
            f"got {len(forces)} forces, expected one for each of {len(goal.velocities)} velocities."
        )
    for mark, window in zip(marks(), goal.windows, strict=False):
        after = forces[start : start + len(window.velocities)]
        start += len(window.velocities)
        rows.append(_row(mark, window, after))
    return tuple(rows)


def marks() -> Iterator[str]:
    """Letters for bands: A to Z, then AA to ZZ and so on."""
    letters = [chr(code) for code in range(ord("A"), ord("Z") + 1)]
    names = letters
    while True:
        yield from names
        names = [first + letter for first in names for letter in letters]


def _row(mark: str, window: Window, after: Sequence[float]) -> BandRow:
    speeds = [abs(velocity) for velocity in window.velocities]
    room = [
        min(force - least, most - force) / max(most - least, 1e-12)
        for force, least, most in zip(after, window.lower, window.upper, strict=True)
    ]
    place = min(range(len(room)), key=lambda i: room[i])
    within = all(
        least - SLACK * abs(least) <= force <= most + SLACK * abs(most)
        for force, least, most in zip(after, window.lower, window.upper, strict=True)
    )
    return BandRow(
        mark=mark,
        name=window.name,
        role=window.role,
        stroke="compression" if window.velocities[0] >= 0 else "rebound",
        low=min(speeds),
        high=max(speeds),
        velocity=speeds[place],
        before=window.before[place],
        after=after[place],
        desired=window.desired[place],
        least=window.lower[place],
        most=window.upper[place],
        within=within,
    )
