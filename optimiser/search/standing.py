"""What a search may say when it ends: what was found, or the nearest, and what of it is proven."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from optimiser.model.answer import Answer, Candidate, Effort, Status
from optimiser.model.unanswered import Unanswered


@dataclass(frozen=True, slots=True, kw_only=True)
class Closed:
    """How far a search came.

    Parameters
    ----------
    too_few : no stack with at most this many changes meets the goal, of those that the model answers for.
    most_changes : that were allowed.
    closest : whether all stacks with as few changes as the first were gone through.
    nearest : whether all that may come nearer were.
    reason : why it ended early; None when it did not.
    unanswered : what the model had no answer for.
    """

    too_few: int
    most_changes: int
    closest: bool
    nearest: bool
    reason: Status | None
    unanswered: Unanswered

    @property
    def proven_too_few(self) -> int:
        """What that proves: nothing where a click has no answer, clicks alone where a stack has none."""
        if self.unanswered.settings:
            return -1
        return min(self.too_few, 0) if self.unanswered.stacks else self.too_few


def standing(found: Sequence[Candidate], closed: Closed, *, nearest: Candidate, effort: Effort) -> Answer:
    """The answer.

    Parameters
    ----------
    found : stacks that meet the goal, best first.
    closed : how far the search came.
    nearest : the stack that comes nearest, should none be found.
    effort : what it cost.
    """
    too_few, through = closed.proven_too_few, Status.BEST_SO_FAR
    if closed.unanswered:
        through = Status.UNANSWERED
    if found:
        proven = too_few == len(found[0].changes) - 1
        return Answer(
            status=Status.PROVEN_LEAST if proven else closed.reason or through,
            candidates=tuple(found),
            proven_too_few=too_few,
            most_changes=closed.most_changes,
            nearest=None,
            nearest_proven=False,
            effort=effort,
            closest_proven=proven and closed.closest,
            unanswered=closed.unanswered,
        )
    proven = too_few == closed.most_changes
    return Answer(
        status=Status.PROVEN_IMPOSSIBLE if proven else closed.reason or through,
        candidates=(),
        proven_too_few=too_few,
        most_changes=closed.most_changes,
        nearest=nearest,
        nearest_proven=closed.nearest and not closed.unanswered,
        effort=effort,
        unanswered=closed.unanswered,
    )
