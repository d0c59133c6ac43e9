"""What other parts do beside shims and clickers: a ladder of combinations, the least work first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from optimiser.jobs.job import WorkOptions
from optimiser.jobs.ladder import Judged
from optimiser.model.answer import Candidate
from optimiser.model.other_parts import PartChange

NEARER: Final = 1e-3
"""Share of a misfit by which less of it counts as nearer. [-]"""

Changes = tuple[PartChange, ...]
"""Of parts together."""


@dataclass(frozen=True, slots=True)
class PartStep:
    """One combination of parts, with the clicks and shims that go with it.

    Parameters
    ----------
    changes : of parts; none for the damper as it is.
    best : the stack: the first in range, or the nearest.
    settings : positions of the adjusters that it may have.
    present : the setting that the damper is at.
    bands : what it does to every band.
    time : that it costs. [s]
    chance : share of the dampers built like this in which all limits hold; None where it is not known. [-]
    """

    changes: Changes
    best: Candidate
    settings: tuple[Mapping[str, int], ...]
    present: int
    bands: tuple[Judged, ...]
    time: float
    chance: float | None = None

    @property
    def in_range(self) -> bool:
        """Whether it meets the goal, and nothing speaks against it."""
        return self.best.misfit == 0 and self.best.objection is None


@dataclass(frozen=True, slots=True)
class PartLadder:
    """What other parts do.

    Parameters
    ----------
    steps : the least work first.
    left_out : combinations that were not looked into, and why.
    not_reached : combinations that the time did not suffice for.
    proven : whether nothing that takes less time than the first in range is in range, of the combinations
        that were looked into; where none is in range, whether that is proven.
    """

    steps: tuple[PartStep, ...]
    left_out: tuple[tuple[Changes, str], ...]
    proven: bool
    not_reached: int = 0

    @property
    def telling(self) -> tuple[PartStep, ...]:
        """The steps that say something: one part alone, in range, or nearer than all with less work."""
        kept: list[PartStep] = []
        for step in self.steps:
            nearer = all(step.best.misfit < one.best.misfit * (1 - NEARER) for one in kept)
            if len(step.changes) <= 1 or step.in_range or nearer:
                kept.append(step)
        return tuple(kept)

    @property
    def least(self) -> PartStep | None:
        """The least work in range; None where nothing is."""
        return next((step for step in self.steps if step.in_range), None)


def work_time(work: WorkOptions, changes: Changes, *, shims: int, opened: int) -> float:
    """What parts and a number of shims cost together. [s]

    Parameters
    ----------
    work : says what opening and changing takes.
    changes : of parts.
    shims : that change.
    opened : assemblies that are opened for any of them; each is opened once for all.
    """
    return sum(one.time for one in changes) + work.times.of(assemblies=opened, changes=shims)
