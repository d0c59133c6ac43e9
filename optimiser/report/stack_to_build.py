"""One stack that changes as a sheet shows it: its steps, and what its drawings need."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.stack import Stack
from optimiser.model.answer import Change
from optimiser.model.taken import Taken
from optimiser.report.steps import Step, hole_of, places_in, places_out, steps


@dataclass(frozen=True, slots=True)
class Seating:
    """What a stack sits on and is held by, as far as a drawing needs it.

    Parameters
    ----------
    bore_radius : what the face shim must clear. [m]
    seat_radius : the lip that the face shim closes on. [m]
    port_inner_radius, port_outer_radius : the ring of the ports on the piston's face. [m]
    clamp_radius : the circle that the stack bends about. [m]
    """

    bore_radius: float
    seat_radius: float
    port_inner_radius: float
    port_outer_radius: float
    clamp_radius: float

    @classmethod
    def of(cls, path: ShimValve, *, bore_radius: float) -> Seating:
        """The seating of a stack in its ports."""
        return cls(
            bore_radius=bore_radius,
            seat_radius=path.seat.seat_radius,
            port_inner_radius=path.port_inner_radius,
            port_outer_radius=path.port_outer_radius,
            clamp_radius=path.seat.clamp_radius,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class StackToBuild:
    """One stack that changes, as the page shows it.

    Parameters
    ----------
    name : of its place.
    steps : what to do with it.
    old_stack, new_stack : from the piston outwards.
    taken_out, put_in : places in the old and in the new stack, 0 at the piston.
    seating : what it sits on.
    """

    name: str
    steps: tuple[Step, ...]
    old_stack: Stack
    new_stack: Stack
    taken_out: frozenset[int]
    put_in: frozenset[int]
    seating: Seating

    @classmethod
    def of(
        cls,
        name: str,
        changes: Sequence[Change],
        *,
        old: Stack,
        new: Stack,
        seating: Seating,
        taken: Sequence[Taken] = (),
    ) -> StackToBuild:
        """A stack with what the tuner does with it; ``taken`` is what comes from the shelf."""
        return cls(
            name=name,
            steps=steps(changes, hole=hole_of(old), new=new, taken=taken),
            old_stack=old,
            new_stack=new,
            taken_out=places_out(changes),
            put_in=places_in(changes),
            seating=seating,
        )

    @property
    def height_change(self) -> float:
        """Height of the new stack less that of the old. [m]"""
        return self.new_stack.height - self.old_stack.height
