"""Ways: where in a stack the work of a change is done. Candidates that work alike are twins, one idea.

A shim's share in the work is taken as its thickness cubed times its reach beyond the clamp squared, which is
how far it stiffens the stack; what holds no share in a place is left out of the way's name.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from typing import Final

from damping_model.stack.stack import Stack
from optimiser.model.answer import Candidate, Change
from optimiser.model.edits import keys_of
from optimiser.model.stock import ShimKey

COUNTS: Final = 1 / 5
"""Share of the largest work that another place needs to be named; common practice, no source. [-]"""


class Zone(Enum):
    """A part of a stack that does its own work on the curve."""

    FACE = "the face"
    FIRST = "the first stage"
    CROSSOVER = "the crossover"
    SECOND = "the second stage"
    FURTHER = "a further stage"
    CLAMP_SIDE = "the clamp side"


@dataclass(frozen=True, slots=True)
class Way:
    """Where a candidate does its work, and in which direction.

    Parameters
    ----------
    zones : parts of the stack, each with whether it gets stiffer (1), softer (-1) or is only rearranged (0);
        for the crossover whether its gap grows or shrinks. From the piston outwards.
    clicks : whether adjusters move.
    """

    zones: tuple[tuple[Zone, int], ...]
    clicks: bool

    @property
    def words(self) -> str:
        """The way in a few words."""
        parts = [f"{_WORDS[zone is Zone.CROSSOVER, sign]} {zone.value}" for zone, sign in self.zones]
        if self.clicks:
            parts.append("clicks")
        return ", ".join(parts) or "as it is"


_WORDS: Final = {
    (False, 1): "stiffen",
    (False, -1): "soften",
    (False, 0): "rearrange",
    (True, 1): "open",
    (True, -1): "close",
    (True, 0): "change",
}


class Zones:
    """The parts of a stack.

    Parameters
    ----------
    stack : as it is, from the piston outwards.
    """

    def __init__(self, stack: Stack) -> None:
        self.keys = keys_of(stack)
        self.clamp = self.keys[-1].outer
        self.widest = max(key.outer for key in self.keys)
        self.halfway = (self.clamp + self.widest) / 2
        self.rises = [place for place, (one, two) in enumerate(pairwise(self.keys)) if two.outer > one.outer]

    def zone(self, key: ShimKey, place: int) -> Zone:
        """The part that a shim with so many shims of the stack between it and the piston belongs to."""
        if self._in_crossover(key, place):
            return Zone.CROSSOVER
        stage = sum(rise < place for rise in self.rises)
        if stage == 0 and key.outer >= self.keys[0].outer:
            return Zone.FACE
        if stage >= len(self.rises) and key.outer < self.halfway:
            return Zone.CLAMP_SIDE
        return (Zone.FIRST, Zone.SECOND, Zone.FURTHER)[min(stage, 2)]

    def zone_of_new(self, key: ShimKey, place: int, gone: frozenset[int]) -> Zone:
        """The part that a new shim belongs to: the crossover where a wider one comes to rest on it.

        Parameters
        ----------
        key, place : the shim, and how many shims of the stack lie between it and the piston.
        gone : places of the shims that leave.
        """
        behind = next((one for at, one in enumerate(self.keys) if at >= place and at not in gone), key)
        return Zone.CROSSOVER if behind.outer > key.outer else self.zone(key, place)

    def _in_crossover(self, key: ShimKey, place: int) -> bool:
        """Whether it lies in or beside a pack that wider shims rest on, and is no wider."""
        for rise in self.rises:
            first = rise
            while first > 0 and self.keys[first - 1].outer == self.keys[rise].outer:
                first -= 1
            if first <= place <= rise + 1 and key.outer <= self.keys[rise].outer:
                return True
        return False

    def work(self, key: ShimKey) -> float:
        """How far a shim stiffens the stack, as a share of the widest one 0.1 mm thick. [-]"""
        reach = max(key.outer - self.clamp, 0) / max(self.widest - self.clamp, 1)
        return (key.thickness / 100) ** 3 * max(reach, 0.02) ** 2


@dataclass(frozen=True, slots=True)
class Moved:
    """A shim that leaves or comes.

    Parameters
    ----------
    key : which.
    place : how many shims of the old stack lie between it and the piston.
    """

    key: ShimKey
    place: int


def way_of(changes: Sequence[Change], *, old: Stack, clicks: bool) -> Way:
    """Where changes do their work.

    Parameters
    ----------
    changes : what the tuner does.
    old : the stack as it is.
    clicks : whether adjusters move besides.
    """
    places = _places_in_old(changes, len(old.shims))
    outs = [
        Moved(one.out, one.out_after) for one in changes if one.out is not None and one.out_after is not None
    ]
    ins = [
        Moved(one.put_in, places[one.in_after])
        for one in changes
        if one.put_in is not None and one.in_after is not None
    ]
    return way_through(Zones(old), outs=outs, ins=ins, clicks=clicks)


def way_through(zones: Zones, *, outs: Sequence[Moved], ins: Sequence[Moved], clicks: bool = False) -> Way:
    """Where shims that leave and come do their work.

    Parameters
    ----------
    zones : the parts of the stack as it is.
    outs, ins : the shims.
    clicks : whether adjusters move besides.
    """
    gone = frozenset(one.place for one in outs)
    net: dict[Zone, float] = defaultdict(float)
    gross: dict[Zone, float] = defaultdict(float)
    placed = [(one.key, zones.zone(one.key, one.place), -1) for one in outs]
    placed += [(one.key, zones.zone_of_new(one.key, one.place, gone), 1) for one in ins]
    for key, zone, sign in placed:
        amount = sign * _amount(zones, zone, key)
        net[zone] += amount
        gross[zone] = max(gross[zone], abs(amount))
    most = max((size for zone, size in gross.items() if zone is not Zone.CROSSOVER), default=0.0)
    named = [
        (zone, _sign(net[zone], gross[zone]))
        for zone in Zone
        if zone in gross and (zone is Zone.CROSSOVER or gross[zone] >= COUNTS * most)
    ]
    return Way(tuple(named), clicks)


def _amount(zones: Zones, zone: Zone, key: ShimKey) -> float:
    """Work of a shim; of one in the crossover its thickness, since it only opens the gap. [-]"""
    return key.thickness / 100 if zone is Zone.CROSSOVER else zones.work(key)


def _sign(net: float, gross: float) -> int:
    return 0 if abs(net) < COUNTS * gross else 1 if net > 0 else -1


def _places_in_old(changes: Sequence[Change], size: int) -> dict[int, int]:
    """For each shim that comes, by its place: how many shims of the old stack lie nearer to the piston."""
    coming = {change.in_after for change in changes if change.put_in is not None}
    leaving = {change.out_after for change in changes if change.out is not None}
    staying = iter([place for place in range(size) if place not in leaving])
    found, before = {}, 0
    for place in range(size - len(leaving) + len(coming)):
        if place in coming:
            found[place] = before
        else:
            before = next(staying) + 1
    return found


@dataclass(frozen=True, slots=True)
class Idea:
    """Candidates that do their work in the same places: one idea.

    Parameters
    ----------
    way : where.
    best : the first of them.
    twins : the others, in order.
    """

    way: Way
    best: Candidate
    twins: tuple[Candidate, ...]

    @property
    def every(self) -> tuple[Candidate, ...]:
        """The first and its twins."""
        return (self.best, *self.twins)


def folded(candidates: Sequence[Candidate], *, old: Stack, present: int) -> tuple[Idea, ...]:
    """Candidates folded into ideas, in the order of their first members.

    Parameters
    ----------
    candidates : the best first.
    old : the stack as it is.
    present : the setting that the damper is at.
    """
    ideas: dict[tuple[int, Way], list[Candidate]] = {}
    for one in candidates:
        way = way_of(one.changes, old=old, clicks=one.setting != present)
        ideas.setdefault((len(one.changes), way), []).append(one)
    return tuple(Idea(way, first, tuple(rest)) for (_, way), (first, *rest) in ideas.items())
