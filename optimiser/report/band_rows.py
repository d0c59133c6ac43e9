"""The table of bands: for each window of the goal its mean, its range, and where it is tightest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from optimiser.model.band_result import BandResult, BandVerdict, band_result
from optimiser.model.goal import Goal, Role, Window


@dataclass(frozen=True, slots=True)
class BandRow:
    """One band.

    Parameters
    ----------
    mark : the letter that the band carries in the curves.
    name, role : what the band is called and why it is there.
    stroke : compression or rebound.
    low, high : slowest and fastest velocity of the band, not negative. [m/s]
    tightest : speed where it comes nearest to its limits; None where its average is asked. [m/s]
    result : means and range of its forces and their change, what is allowed, and the verdict.
    """

    mark: str
    name: str
    role: Role
    stroke: str
    low: float
    high: float
    tightest: float | None
    result: BandResult

    @property
    def within(self) -> bool:
        """Whether the band keeps its limits."""
        return self.result.verdict is BandVerdict.IN_RANGE


def band_rows(goal: Goal, forces: Sequence[float]) -> tuple[BandRow, ...]:
    """Rows for all windows of a goal.

    Parameters
    ----------
    goal : what was asked for.
    forces : damping force of the candidate at each velocity of the goal. [N]

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
    return BandRow(
        mark=mark,
        name=window.name,
        role=window.role,
        stroke="compression" if window.velocities[0] >= 0 else "rebound",
        low=min(speeds),
        high=max(speeds),
        tightest=None if window.average is not None else speeds[result.tightest],
        result=result,
    )
