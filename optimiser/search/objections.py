"""What speaks against stacks that a search would list: asked once of each, when it would be listed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from damping_model.errors import ModelError
from damping_model.stack.stack import Stack
from optimiser.model.answer import Candidate
from optimiser.model.objection import LeftOut, Objection
from optimiser.model.physics import BandPhysics


class JudgedAt(NamedTuple):
    """A stack at a setting of the adjusters."""

    stack: Stack
    setting: int


@dataclass(frozen=True, slots=True)
class Refused:
    """A stack that was not listed.

    Parameters
    ----------
    objection : what speaks against it.
    misfit : how far its forces lie outside the windows, in half-widths; 0 when all are met. [-]
    listed : whether it would have been listed, and not only be the nearest so far.
    """

    objection: Objection
    misfit: float
    listed: bool


Refusals = Mapping[JudgedAt, Refused]


class Objections:
    """Asks the physics for objections and keeps what it said.

    Parameters
    ----------
    physics : what is asked; a stack that it has no answer for counts as one whose oil boils.

    Attributes
    ----------
    refused : stacks against which something speaks, in the order in which they were met.
    """

    def __init__(self, physics: BandPhysics) -> None:
        self.physics = physics
        self.refused: dict[JudgedAt, Refused] = {}
        self._without: set[JudgedAt] = set()

    def none_to(self, one: Candidate, *, listed: bool = True) -> bool:
        """Whether nothing speaks against a stack that would be listed, or else be the nearest so far."""
        place = JudgedAt(one.stack, one.setting)
        if place in self._without:
            return True
        if place in self.refused:
            return False
        try:
            objection = self.physics.objection(one.stack, one.setting)
        except ModelError:
            objection = Objection.BOILS
        if objection is None:
            self._without.add(place)
            return True
        self.refused[place] = Refused(objection, one.misfit, listed)
        return False

    def to(self, one: Candidate) -> Objection | None:
        """What was said against a stack; None where nothing was."""
        found = self.refused.get(JudgedAt(one.stack, one.setting))
        return None if found is None else found.objection


class Tolerant:
    """The same physics, which objects to nothing: for steps from a stack that something speaks against."""

    def __init__(self, physics: BandPhysics) -> None:
        self.settings, self.setting = physics.settings, physics.setting
        self.excess_tolerance, self.exact_tolerance = physics.excess_tolerance, physics.exact_tolerance
        self.packed, self.forces = physics.packed, physics.forces
        self.coarse_forces, self.excesses = physics.coarse_forces, physics.excesses

    def objection(self, stack: Stack, setting: int) -> Objection | None:  # noqa: ARG002
        """None."""
        return None


def left_out(refused: Iterable[Refused], *, nearer_than: float | None = None) -> LeftOut:
    """How many of those refused meet the goal; or miss it by less than so many half-widths."""
    return LeftOut.of(
        one.objection
        for one in refused
        if (one.misfit == 0 if nearer_than is None else 0 < one.misfit < nearer_than)
    )
