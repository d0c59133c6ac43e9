"""Changes as steps that a person does with the stack on a pin in front of him."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from damping_model.stack.stack import Stack
from optimiser.model.answer import Change
from optimiser.model.edits import in_place
from optimiser.model.stock import ShimKey
from optimiser.report.place_in_pack import place_in_pack


@dataclass(frozen=True, slots=True)
class Step:
    """One line of the worksheet.

    Parameters
    ----------
    take_out : the shim that leaves, as the drawer names it; empty when none does.
    put_in : the shim that comes; empty when none does.
    where : the place from the piston, in the old stack for what leaves, in the new for what comes; and where
        in its pack that is, when the order there counts.
    """

    take_out: str
    put_in: str
    where: str

    @property
    def sentence(self) -> str:
        """The step as one sentence."""
        if self.take_out and self.put_in:
            return f"Take out {self.take_out}, put in {self.put_in}: {self.where}."
        if self.put_in:
            return f"Put in {self.put_in}: {self.where}."
        return f"Take out {self.take_out}: {self.where}."


def steps(changes: Sequence[Change], *, hole: int, new: Stack | None = None) -> tuple[Step, ...]:
    """Steps of a plan, from the piston outwards; a shim that comes elsewhere than one leaves is its own step.

    Parameters
    ----------
    changes : what the plan changes.
    hole : the shaft's diameter; a shim with another hole is a ring, and its hole is written out. [um]
    new : the stack that they lead to, for where in its pack a new shim goes.
    """
    apart = [part for change in changes for part in _apart(change, changes)]
    return tuple(_step(change, hole, new) for change in sorted(apart, key=_place))


def _apart(change: Change, changes: Sequence[Change]) -> tuple[Change, ...]:
    if change.out is None or change.put_in is None or in_place(change, changes):
        return (change,)
    return (
        Change(change.out, None, change.out_after, None),
        Change(None, change.put_in, None, change.in_after),
    )


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


def _place(change: Change) -> tuple[int, int]:
    places = [place for place in (change.in_after, change.out_after) if place is not None]
    return (min(places, default=0), 0 if change.out is not None else 1)


def _step(change: Change, hole: int, new: Stack | None) -> Step:
    take_out = "" if change.out is None else shim_text(change.out, hole=hole)
    put_in = "" if change.put_in is None else shim_text(change.put_in, hole=hole)
    where = []
    if change.out is not None and change.out_after is not None:
        where.append(f"{ordinal(change.out_after + 1)} from the piston in the old stack")
    if change.put_in is not None and change.in_after is not None:
        where.append(f"{ordinal(change.in_after + 1)} from the piston in the new stack")
    if len(where) == 2 and change.out_after == change.in_after:
        where = [where[0].removesuffix(" in the old stack")]
    if new is not None and change.put_in is not None and change.in_after is not None:
        among = place_in_pack(new, change.in_after)
        where[-1] += f", {among}" if among else ""
    return Step(take_out, put_in, "; ".join(where))


def ordinal(number: int) -> str:
    """A place in a row: 1st, 2nd, 3rd, 4th."""
    ending = "th" if 10 <= number % 100 <= 20 else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"
