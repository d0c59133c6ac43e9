"""What a search may spend on a longer or a closer list, once it has a stack that will do."""

from __future__ import annotations

from typing import Final

RANKING: Final = 8000
"""Evaluations, once a stack is found, for closer ones with as few changes. [-]"""

TAIL: Final = 600
"""Evaluations to fill the list with stacks of one change more than the least. [-]"""


class BudgetSpent(Exception):  # noqa: N818
    """The list is long enough for the work it takes."""


class Budget:
    """A number of evaluations that must not be passed; without end until it is set."""

    def __init__(self) -> None:
        self._most: int | None = None

    def allow(self, evaluations: int) -> None:
        """From now on no more than this many."""
        self._most = evaluations

    def begin(self, evaluations: int) -> None:
        """The same, unless a number was set before."""
        if self._most is None:
            self.allow(evaluations)

    def check(self, evaluations: int) -> None:
        """Raise :class:`BudgetSpent` when they are more."""
        if self._most is not None and evaluations > self._most:
            raise BudgetSpent
