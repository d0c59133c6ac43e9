"""What a catalogue can do for a job: purchases in order, and how far the list may be trusted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from damping_model.stack.stack import Stack
from optimiser.model.answer import Answer, Candidate, Effort, Status
from optimiser.model.edits import keys_of
from optimiser.model.objection import NONE_LEFT_OUT, LeftOut
from optimiser.model.rules import Mounting
from optimiser.model.stock import ShimKey
from optimiser.model.unanswered import ALL_ANSWERED, Unanswered


class Trust(Enum):
    """How far a list of purchases may be trusted."""

    PROVEN = "proven"
    BEST_SO_FAR = "best so far"
    UNANSWERED = "not all answered"
    INTERRUPTED = "interrupted"


@dataclass(frozen=True, slots=True)
class AtMostNewTypes:
    """A stack uses more than is at hand of no more than so many types.

    Parameters
    ----------
    at_hand : shims of each type in the damper and on the shelf together.
    most : how many types may have to be bought.
    """

    at_hand: Mapping[ShimKey, int]
    most: int

    def violations(self, stack: Stack, mounting: Mounting) -> tuple[str, ...]:  # noqa: ARG002
        """Name the types when there are too many of them."""
        bought = to_buy(stack, self.at_hand)
        if len(bought) <= self.most:
            return ()
        names = ", ".join(map(str, bought))
        return (f"{len(bought)} types would have to be bought ({names}); at most {self.most} may be.",)


@dataclass(frozen=True, slots=True)
class Purchase:
    """What to buy, and the best stack that it is good for.

    Parameters
    ----------
    pieces : how many of each type, in order of size.
    best : the stack that comes closest to the target of those with as few changes.
    """

    pieces: tuple[tuple[ShimKey, int], ...]
    best: Candidate

    @property
    def types(self) -> tuple[ShimKey, ...]:
        """The types to buy."""
        return tuple(key for key, _ in self.pieces)


@dataclass(frozen=True, slots=True)
class Looked:
    """All purchases of one number of types.

    Parameters
    ----------
    types : how many types are bought.
    most_changes : changes up to which a purchase would have been worth it.
    proven_too_few : no purchase of so many types meets the goal with at most this many changes, proven.
    purchases : those that meet it with the fewest changes, closest to the target first.
    trust : how far list and fewest changes may be trusted.
    effort : what it cost.
    left_out : stacks that meet the goal and against which something else speaks.
    unanswered : stacks that the model had no answer for.
    """

    types: int
    most_changes: int
    proven_too_few: int
    purchases: tuple[Purchase, ...]
    trust: Trust
    effort: Effort
    left_out: LeftOut = NONE_LEFT_OUT
    unanswered: Unanswered = ALL_ANSWERED


@dataclass(frozen=True, slots=True)
class Shopping:
    """What a catalogue can do for a goal.

    Parameters
    ----------
    shelf : what the shelf alone can do.
    looked : one entry a number of types, fewest first; empty when nothing has to be bought.
    """

    shelf: Answer
    looked: tuple[Looked, ...]

    @property
    def purchases(self) -> tuple[Purchase, ...]:
        """Every purchase: fewest types first, then fewest changes, then closest to the target."""
        return tuple(one for looked in self.looked for one in looked.purchases)

    @property
    def needed(self) -> bool:
        """Whether a purchase could help at all: the shelf alone takes more than one change."""
        return not self.shelf.candidates or self.shelf.candidates[0].number_of_changes > 1

    @property
    def left_out(self) -> LeftOut:
        """Stacks that meet the goal and against which something else speaks, with and without a purchase."""
        return sum((looked.left_out for looked in self.looked), self.shelf.left_out)

    @property
    def unanswered(self) -> Unanswered:
        """What the model had no answer for, with and without a purchase."""
        return sum((looked.unanswered for looked in self.looked), self.shelf.unanswered)

    @property
    def trust(self) -> Trust:
        """How far the whole answer may be trusted."""
        if self.shelf.status is Status.INTERRUPTED:
            return Trust.INTERRUPTED
        parts = {looked.trust for looked in self.looked}
        parts |= {Trust.UNANSWERED} if self.shelf.unanswered.settings else set()
        if self.needed and not parts:
            return Trust.BEST_SO_FAR
        worst_first = (Trust.INTERRUPTED, Trust.BEST_SO_FAR, Trust.UNANSWERED)
        return next((trust for trust in worst_first if trust in parts), Trust.PROVEN)

    @property
    def outcome(self) -> str:
        """Nothing needed, buy, no purchase helps, or nothing found."""
        if not self.needed:
            return "nothing needed"
        if self.purchases:
            return "buy"
        return "no purchase helps" if self.trust is Trust.PROVEN else "nothing found"


def to_buy(stack: Stack, at_hand: Mapping[ShimKey, int]) -> dict[ShimKey, int]:
    """Pieces that a stack takes beyond what is at hand, in order of size."""
    used = Counter(keys_of(stack))
    return {key: used[key] - at_hand.get(key, 0) for key in sorted(used) if used[key] > at_hand.get(key, 0)}
