"""The ladder of effort: what clicks alone buy, and what each further change of a shim does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Final

from optimiser.model.answer import Answer, Candidate
from optimiser.model.ways import Idea


@dataclass(frozen=True, slots=True)
class LadderRung:
    """One step of effort: so many shims changed.

    Parameters
    ----------
    changes : of shims; 0 for clicks alone.
    ideas : different ways that meet the goal, best first; empty when none was found.
    nearest : the stack that comes nearest to the goal of those that were evaluated; None when some meet it,
        with so much effort or less.
    closed : whether it is proven that ``ideas`` holds one when there is one; of changed stacks, with the
        adjusters where they stand.
    """

    changes: int
    ideas: tuple[Idea, ...]
    nearest: Candidate | None
    closed: bool

    @property
    def in_range(self) -> bool:
        """Whether a stack with so much effort meets the goal."""
        return bool(self.ideas)

    @property
    def best(self) -> Candidate | None:
        """The first way that meets the goal, or the nearest; None when nothing was evaluated."""
        return self.ideas[0].best if self.ideas else self.nearest


MOST_FOLDED: Final = 40
"""Candidates that are kept beside those listed: enough for shims that others want, too. [-]"""


def folded_away(answer: Answer, rungs: Sequence[LadderRung]) -> tuple[Candidate, ...]:
    """What meets the goal and is not listed among the candidates of an answer, fewest changes first.

    Parameters
    ----------
    answer : of a plan; nothing is folded away where nothing meets its goal.
    rungs : its ladder.
    """
    if not answer.candidates:
        return ()
    listed = {(one.stack, one.setting) for one in answer.candidates}
    met = (one for rung in rungs for idea in rung.ideas for one in idea.every)
    others = (one for one in met if (one.stack, one.setting) not in listed)
    return tuple(islice(others, MOST_FOLDED))
