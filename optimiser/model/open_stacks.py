"""A damper with several of its stacks open at once, and what is asked of them together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.damper_answer import USUAL_TIMES, DamperCandidate, WorkTimes
from optimiser.model.edits import changes_between, keys_of
from optimiser.model.goal import Goal
from optimiser.model.objection import Objection
from optimiser.model.physics import BandPhysics
from optimiser.model.problem import Problem
from optimiser.model.rules import Mounting
from optimiser.model.stock import ShimKey, Stock
from optimiser.model.taken import Taken, taken_together

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenStack:
    """One of the stacks that may change.

    Parameters
    ----------
    name : of its place in the damper.
    assembly : what has to be opened to get at it; stacks of one valve share it.
    stack, mounting : as it is, and what it is bolted to.
    physics : the damper with this stack open to change and all others as they are.
    has_say : at which of the goal's velocities it has a say in the force, whatever shims it is of.
    least_height, most_height : that it may have. [m]
    """

    name: str
    assembly: str
    stack: Stack
    mounting: Mounting
    physics: BandPhysics
    has_say: tuple[bool, ...]
    least_height: float
    most_height: float


class WholePhysics(Protocol):
    """What a damper is asked with all of its open stacks in place, as a whole circuit."""

    def forces(self, stacks: Sequence[Stack], setting: int) -> Floats:
        """Damping force at each of the goal's velocities. [N]"""
        ...

    def objection(self, stacks: Sequence[Stack], setting: int) -> Objection | None:
        """What speaks against these stacks together; None when nothing does."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class DamperProblem:
    """Everything that decides which stacks of a damper may be built together, and what is better.

    Parameters
    ----------
    open_stacks : those that may change, of one setting of the adjusters each and the same.
    whole : the damper with all of them in place.
    stock : what is on the shelf; a shim that leaves one stack may come into another.
    goal : windows for the force; heights are those of the stacks.
    times : what it takes to open assemblies and to change shims.
    coupled : names of open stacks whose forces do not add: of each group one is changed at most.
    open_anyway : assemblies that are opened whatever changes, for another part in them.
    """

    open_stacks: tuple[OpenStack, ...]
    whole: WholePhysics
    stock: Stock
    goal: Goal
    times: WorkTimes = USUAL_TIMES
    coupled: tuple[tuple[str, ...], ...] = ()
    open_anyway: tuple[str, ...] = ()

    @property
    def settings(self) -> tuple[Mapping[str, int], ...]:
        """Positions of the adjusters that may be chosen."""
        return self.open_stacks[0].physics.settings

    @property
    def setting(self) -> int:
        """The present one."""
        return self.open_stacks[0].physics.setting

    @property
    def present(self) -> tuple[Stack, ...]:
        """The stacks as they are."""
        return tuple(one.stack for one in self.open_stacks)

    def alone(self, place: int, *, stock: Stock | None = None) -> Problem:
        """The problem of one stack with all others as they are.

        Parameters
        ----------
        place : of the stack.
        stock : what it may take from, the shelf when left out.
        """
        one = self.open_stacks[place]
        return Problem(
            physics=one.physics,
            stack=one.stack,
            mounting=one.mounting,
            stock=self.stock if stock is None else stock,
            goal=replace(self.goal, least_height=one.least_height, most_height=one.most_height),
        )

    def beside(self, place: int, *, changes: int) -> Stock:
        """The shelf with what other stacks may give up for one of them, should each make so many changes."""
        counts = Counter(dict(self.stock.counts))
        for other, one in enumerate(self.open_stacks):
            if other != place:
                counts += Counter({k: min(n, changes) for k, n in Counter(keys_of(one.stack)).items()})
        return replace(self.stock, counts=counts)

    def go_together(self, one: int, other: int) -> bool:
        """Whether two stacks may change at once: their forces add."""
        names = {self.open_stacks[one].name, self.open_stacks[other].name}
        return not any(names <= set(group) for group in self.coupled)

    def shelf_allows(self, stacks: Sequence[Stack]) -> bool:
        """Whether the shelf, with what leaves the damper, has enough of every type."""
        return not self.lacking(stacks)

    def lacking(self, stacks: Sequence[Stack]) -> dict[ShimKey, int]:
        """How many of each type are missing on the shelf."""
        need = self._needed(stacks)
        return {key: n - self.stock.count(key) for key, n in need.items() if n > self.stock.count(key)}

    def taken(self, stacks: Sequence[Stack]) -> tuple[Taken, ...]:
        """What comes from the shelf, the largest first."""
        return taken_together(self.stock, zip(self.present, stacks, strict=True))

    def _needed(self, stacks: Sequence[Stack]) -> Counter[ShimKey]:
        """Shims that leave no stack; one that leaves a stack and comes into another is not among them."""
        return _all_keys(stacks) - _all_keys(self.present)

    def assemblies(self, stacks: Sequence[Stack]) -> int:
        """How many assemblies have to be opened for stacks."""
        changed = enumerate(zip(self.present, stacks, strict=True))
        return self.opened(place for place, (old, new) in changed if new != old)

    def opened(self, places: Iterable[int]) -> int:
        """How many assemblies are open once the stacks in some places are, and what is open anyway."""
        return len({*self.open_anyway, *(self.open_stacks[place].assembly for place in places)})

    @property
    def fewest_opened(self) -> int:
        """Assemblies that have to be opened at least for any change of a shim."""
        return max(len(set(self.open_anyway)), 1)

    def time(self, one: DamperCandidate) -> float:
        """What a candidate takes on the bench. [s]"""
        return self.times.of(assemblies=one.assemblies, changes=one.number_of_changes)

    def candidate(self, stacks: Sequence[Stack], *, setting: int, forces: Floats) -> DamperCandidate:
        """Stacks with every figure that they are judged by.

        Parameters
        ----------
        stacks, setting : which, one for each open stack.
        forces : resisting, at each velocity of the goal. [N]
        """
        goal = self.goal
        return DamperCandidate(
            stacks=tuple(stacks),
            setting=setting,
            changes=tuple(
                () if new == old else changes_between(old, new)
                for old, new in zip(self.present, stacks, strict=True)
            ),
            assemblies=self.assemblies(stacks),
            forces=tuple(float(force) for force in forces),
            misfit=rank.misfit(goal, forces),
            target_error=rank.target_error(goal, forces),
            change_elsewhere=rank.change_elsewhere(goal, forces),
            scarcity=max((one.count / max(one.of, 1) for one in self.taken(stacks)), default=0.0),
            aimed=rank.aimed(goal, forces),
        )


def _all_keys(stacks: Sequence[Stack]) -> Counter[ShimKey]:
    return sum((Counter(keys_of(one)) for one in stacks), Counter())
