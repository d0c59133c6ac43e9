"""Which window the nearest stack misses most, for whoever watches."""

from __future__ import annotations

from optimiser.model.answer import Candidate
from optimiser.model.band_result import band_result
from optimiser.model.goal import Goal
from optimiser.search.control import Missed


class WhereMissed:
    """Works it out once for each stack.

    Parameters
    ----------
    goal : whose windows.
    """

    def __init__(self, goal: Goal) -> None:
        self._goal = goal
        self._last: tuple[Candidate, Missed] | None = None

    def of(self, one: Candidate) -> Missed:
        """The window that a stack misses most."""
        if self._last is None or self._last[0] is not one:
            windows = [(window, part) for window, part in self._goal.parts if window.velocities]
            judged = (
                Missed(window.name, band_result(window, one.forces[part]).missed_by)
                for window, part in windows
            )
            self._last = one, max(judged, key=lambda missed: missed.by)
        return self._last[1]
