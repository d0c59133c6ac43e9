"""What a search answers: a status that is a value, and candidates in order."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

from damping_model.stack.stack import Stack
from optimiser.model.checked import Checked
from optimiser.model.objection import NONE_LEFT_OUT, LeftOut, Objection
from optimiser.model.stock import ShimKey
from optimiser.model.unanswered import ALL_ANSWERED, Unanswered


class Status(Enum):
    """How far an answer may be trusted."""

    PROVEN_LEAST = "proven least"
    """Candidates meet the goal, and fewer changes are proven not to."""

    BEST_SO_FAR = "best so far"
    """Time ran out: what was found by then stands, with the bound that stands."""

    BY_STEPS = "by small steps"
    """Steps of a change or two led here, each the best there was; of others nothing is known."""

    UNANSWERED = "not all answered"
    """All was searched, but the model has no answer for some of it, so nothing that rests on it is proven."""

    PROVEN_IMPOSSIBLE = "proven impossible"
    """No buildable stack within the changes allowed meets the goal."""

    INTERRUPTED = "interrupted"
    """Stopped by the user: what was found by then stands, with the bound that stands."""


@dataclass(frozen=True, slots=True)
class Change:
    """One thing the tuner does with his hands: a shim out, a shim in, or one for another.

    Parameters
    ----------
    out : the shim that leaves, or None.
    put_in : the shim that comes, or None.
    out_after, in_after : shims between the piston and the place, in the old and in the new stack.
    """

    out: ShimKey | None
    put_in: ShimKey | None
    out_after: int | None
    in_after: int | None


@dataclass(frozen=True, slots=True)
class ChangedToo:
    """Another stack of the same damper that changes as well.

    Parameters
    ----------
    name : of its place.
    stack : the stack to build there.
    changes : what the tuner does with it.
    """

    name: str
    stack: Stack
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class Candidate:
    """A buildable stack and what it does.

    Parameters
    ----------
    stack : the stack to build, from the piston outwards.
    setting : which of the physics' adjuster settings it is judged at.
    changes : what the tuner does, as steps.
    forces : damping force at each velocity of the goal. [N]
    misfit : how far the forces lie outside the windows, in half-widths of a window; 0 when all are met. [-]
    target_error : largest distance from the desired force over the target windows, relative to it. [-]
    change_elsewhere : largest change over the held windows, relative to the force before. [-]
    scarcity : largest share that it uses up of what the shelf has of one type. [-]
    aimed : average change on target over the largest change anywhere else; None where nothing else is
        judged. [-]
    best_at : what no other listed candidate does better, in words; empty when it leads in nothing.
    objection : what speaks against it all the same; only a nearest stack by small steps may have one.
    others : what changes in other stacks of the damper; empty where one stack alone is open.
    place : name of the stack's place where several are open; else empty.
    """

    stack: Stack
    setting: int
    changes: tuple[Change, ...]
    forces: tuple[float, ...]
    misfit: float
    target_error: float
    change_elsewhere: float
    scarcity: float
    aimed: float | None = None
    best_at: tuple[str, ...] = ()
    objection: Objection | None = None
    others: tuple[ChangedToo, ...] = ()
    place: str = ""

    @property
    def number_of_changes(self) -> int:
        """Over all stacks that change."""
        return len(self.changes) + sum(len(one.changes) for one in self.others)

    @property
    def all_changes(self) -> tuple[Change, ...]:
        """Of all stacks that change; places count in the stack of each."""
        return (*self.changes, *(change for one in self.others for change in one.changes))

    def opened(self, own: str) -> tuple[str, ...]:
        """Names of the stacks that have to be opened; ``own`` is that of :attr:`stack`."""
        return (*([own] if self.changes else []), *(one.name for one in self.others))


@dataclass(frozen=True, slots=True)
class Effort:
    """What an answer cost, and what it rests on.

    Parameters
    ----------
    evaluations : how often the damping model was asked.
    families : families of stacks that were bounded.
    stacks : stacks that the closed families and leaves cover, counted once for each way to come to them;
        those that shelf, height or a rule forbid are among them.
    """

    evaluations: int
    families: int
    stacks: int

    def __add__(self, other: Effort) -> Effort:
        """Both together."""
        return Effort(
            self.evaluations + other.evaluations, self.families + other.families, self.stacks + other.stacks
        )


NO_EFFORT: Final = Effort(0, 0, 0)


@dataclass(frozen=True, slots=True)
class Answer:
    """What a search found, and how far it may be trusted.

    Parameters
    ----------
    status : how far it may be trusted.
    candidates : stacks that meet the goal, best first.
    proven_too_few : no stack with at most this many changes meets the goal, proven; -1 when nothing is.
    most_changes : the number of changes that the search was allowed.
    nearest : when nothing fits, the stack that comes nearest by ``misfit``.
    nearest_proven : whether no other stack within the changes allowed comes nearer.
    effort : what it cost.
    closest_proven : whether no stack with as few changes comes closer to the target than the closest of the
        candidates.
    clicks_kept : whether the adjusters have other settings than the one that changed stacks were tried at.
    left_out : stacks that meet the goal and against which something else speaks.
    nearer_left_out : stacks likewise that miss the goal by less than the nearest.
    unanswered : what the model had no answer for.
    checked : how what is proven was checked; None when nothing is proven by bounds.
    turned_from : the present setting, where candidates at another may take several changes, of which nothing
        says that they are the fewest; None where none does.
    """

    status: Status
    candidates: tuple[Candidate, ...]
    proven_too_few: int
    most_changes: int
    nearest: Candidate | None
    nearest_proven: bool
    effort: Effort
    closest_proven: bool = False
    clicks_kept: bool = False
    left_out: LeftOut = NONE_LEFT_OUT
    nearer_left_out: LeftOut = NONE_LEFT_OUT
    unanswered: Unanswered = ALL_ANSWERED
    checked: Checked | None = None
    turned_from: int | None = None
