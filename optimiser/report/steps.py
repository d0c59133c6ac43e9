"""Changes as steps that a person does with the stack on a pin in front of him."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from damping_model.stack.stack import Stack
from optimiser.model.answer import Change
from optimiser.model.edits import in_place
from optimiser.model.stock import ShimKey
from optimiser.model.taken import Taken
from optimiser.report.place_in_pack import place_in_pack


@dataclass(frozen=True, slots=True)
class Step:
    """One line of the worksheet.

    Parameters
    ----------
    take_out : the shim that leaves, as the drawer names it; empty when none does.
    put_in : the shim that comes; empty when none does.
    place : where, 0 at the piston, in the stack as it lies once the steps before are done.
    among : where in its pack a shim that comes goes, when the order there counts; else empty.
    taken : what is taken from the shelf for it; None when nothing is.
    """

    take_out: str
    put_in: str
    place: int
    among: str = ""
    taken: Taken | None = None

    @property
    def where(self) -> str:
        """The place in words."""
        return f"{ordinal(self.place + 1)} from the piston" + (f", {self.among}" if self.among else "")

    @property
    def sentence(self) -> str:
        """The step as one sentence."""
        if self.take_out and self.put_in:
            return f"Take out {self.take_out}, put in {self.put_in}: {self.where}."
        if self.put_in:
            return f"Put in {self.put_in}: {self.where}."
        return f"Take out {self.take_out}: {self.where}."


def steps(
    changes: Sequence[Change], *, hole: int, new: Stack | None = None, taken: Sequence[Taken] = ()
) -> tuple[Step, ...]:
    """Steps of a plan: what only leaves first, from the nut inwards, then the rest from the piston outwards.

    In that order every place is right in the stack as it then lies, so that nobody has to count in a stack
    that is not there any more. A shim that comes elsewhere than one leaves is a step of its own.

    Parameters
    ----------
    changes : what the plan changes.
    hole : the shaft's diameter; a shim with another hole is a ring, and its hole is written out. [um]
    new : the stack that they lead to, for where in its pack a new shim goes.
    taken : what comes from the shelf.
    """
    leaving, coming = _apart(changes)
    in_order = [
        *sorted(leaving, key=lambda one: one.out_after or 0, reverse=True),
        *sorted(coming, key=lambda one: one.in_after or 0),
    ]
    unused = {one.key: one.count for one in taken}
    shelf = {one.key: one for one in taken}
    found = []
    for change in in_order:
        step = _step(change, hole, new)
        if change.put_in is not None and unused.get(change.put_in, 0) > 0:
            unused[change.put_in] -= 1
            step = replace(step, taken=shelf[change.put_in])
        found.append(step)
    return tuple(found)


def _apart(changes: Sequence[Change]) -> tuple[list[Change], list[Change]]:
    """What only leaves; and what comes, with what leaves in its place where something does."""
    swaps = [change for change in changes if in_place(change, changes)]
    others = [change for change in changes if change not in swaps]
    leaving = [Change(one.out, None, one.out_after, None) for one in others if one.out is not None]
    coming = [Change(None, one.put_in, None, one.in_after) for one in others if one.put_in is not None]
    # Two swaps side by side may cross: hands take the nearer one out for the nearer one that comes.
    outs = sorted(swaps, key=lambda one: one.out_after or 0)
    ins = sorted(swaps, key=lambda one: one.in_after or 0)
    for out, put_in in zip(outs, ins, strict=True):
        coming.append(Change(out.out, put_in.put_in, out.out_after, put_in.in_after))
    return leaving, coming


def shim_text(key: ShimKey, *, hole: int) -> str:
    """A shim as the drawer names it; a ring with its hole. [um]"""
    return str(key) if key.inner == hole else f"{key} hole {key.inner / 1000:g}"


def places_out(changes: Sequence[Change]) -> frozenset[int]:
    """Places in the old stack, 0 at the piston, of the shims that leave."""
    return frozenset(c.out_after for c in changes if c.out is not None and c.out_after is not None)


def places_in(changes: Sequence[Change]) -> frozenset[int]:
    """Places in the new stack, 0 at the piston, of the shims that come."""
    return frozenset(c.in_after for c in changes if c.put_in is not None and c.in_after is not None)


def hole_of(stack: Stack) -> int:
    """Diameter of the shaft that a stack sits on: the face shim's hole. [um]"""
    return ShimKey.of(stack.shims[0]).inner


def _step(change: Change, hole: int, new: Stack | None) -> Step:
    take_out = "" if change.out is None else shim_text(change.out, hole=hole)
    if change.put_in is None or change.in_after is None:
        return Step(take_out, "", change.out_after or 0)
    among = "" if new is None else place_in_pack(new, change.in_after)
    return Step(take_out, shim_text(change.put_in, hole=hole), change.in_after, among)


def ordinal(number: int) -> str:
    """A place in a row: 1st, 2nd, 3rd, 4th."""
    ending = "th" if 10 <= number % 100 <= 20 else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"
