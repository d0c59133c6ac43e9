"""Stacks to build together, and an answer about them: what :mod:`optimiser.model.answer` is for one stack."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.answer import Change, Effort, Status
from optimiser.model.checked import Checked
from optimiser.model.edits import keys_of
from optimiser.model.objection import NONE_LEFT_OUT, LeftOut

HOUR: Final = 3600.0
"""[s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkTimes:
    """What work on the bench takes; the usual figures are common practice, no source.

    Parameters
    ----------
    opening : opening one assembly of a damper and closing it again. [s]
    one_more : opening one assembly more. [s]
    change : each shim that changes once a stack lies on the bench. [s]
    """

    opening: float = 3600.0
    one_more: float = 3600.0
    change: float = 300.0

    def of(self, *, assemblies: int, changes: int) -> float:
        """What so many changes in so many assemblies take. [s]"""
        opened = self.opening + (assemblies - 1) * self.one_more if assemblies else 0.0
        return opened + changes * self.change


USUAL_TIMES: Final = WorkTimes()
"""Unless the job says otherwise."""


@dataclass(frozen=True, slots=True)
class DamperCandidate:
    """Stacks to build and what they do together.

    Parameters
    ----------
    stacks : every open stack as it is to be, those that stay among them.
    setting : which of the adjuster settings it is judged at.
    changes : what the tuner does with each stack.
    assemblies : how many have to be opened, those among them that are open anyway.
    forces : damping force at each velocity of the goal. [N]
    misfit, target_error, change_elsewhere, scarcity, aimed : as of
        :class:`optimiser.model.answer.Candidate`.
    """

    stacks: tuple[Stack, ...]
    setting: int
    changes: tuple[tuple[Change, ...], ...]
    assemblies: int
    forces: tuple[float, ...]
    misfit: float
    target_error: float
    change_elsewhere: float
    scarcity: float
    aimed: float | None

    @property
    def number_of_changes(self) -> int:
        """Over all stacks."""
        return sum(map(len, self.changes))

    @property
    def changed(self) -> tuple[int, ...]:
        """Places of the stacks that have to be opened."""
        return tuple(place for place, one in enumerate(self.changes) if one)


@dataclass(frozen=True, slots=True, kw_only=True)
class DamperAnswer:
    """What a search over several stacks found, and how far it may be trusted.

    Parameters
    ----------
    status : how far it may be trusted.
    candidates : stacks that meet the goal together, best first.
    proven_too_few : no stacks with at most this many changes in all meet the goal; -1 when nothing is proven.
    most_changes : that the search was allowed.
    nearest : of all that was judged, what comes nearest; None where something meets the goal.
    closest_proven : whether nothing with as few changes and assemblies comes closer to the target.
    effort : what it cost.
    left_out : stacks that meet the goal together and against which something else speaks.
    checked : how what is proven was checked.
    nearest_of : the nearest of each number of changes, for what less effort does.
    unanswered : how many stacks the model has no answer for.
    """

    status: Status
    candidates: tuple[DamperCandidate, ...]
    proven_too_few: int
    most_changes: int
    nearest: DamperCandidate | None
    closest_proven: bool
    effort: Effort
    left_out: LeftOut = NONE_LEFT_OUT
    checked: Checked | None = None
    nearest_of: tuple[DamperCandidate, ...] = ()
    unanswered: int = 0


def closeness(one: DamperCandidate) -> tuple[object, ...]:
    """The order of a search: fewest changes, fewest assemblies, miss, change elsewhere, scarcity, size."""
    return (
        one.number_of_changes,
        one.assemblies,
        round(one.target_error, rank.TIES),
        round(one.change_elsewhere, rank.TIES),
        round(one.scarcity, rank.TIES),
        tuple(map(keys_of, one.stacks)),
        one.setting,
    )


def order(one: DamperCandidate, *, present: int) -> tuple[object, ...]:
    """The order of a list for people: as :func:`optimiser.model.rank.order`, assemblies after changes."""
    broad = one.aimed is not None and one.aimed < rank.BROAD
    return one.number_of_changes, one.assemblies, one.setting != present, broad, *closeness(one)[2:]
