"""A stack rebuilt from more, thinner shims or fewer, thicker ones of equal bending, and how fine each is."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Shim, Stack
from optimiser.model.goal import Goal, Role, mean_weights
from optimiser.model.rules import Mounting
from optimiser.studies.resolution import asked_bands

Floats = NDArray[np.float64]

USUAL_COUNTS: Final = (7, 23, 46, 70)
"""Shims of a coarse delivered stack, of a usual one, and of two finer ones; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Rung:
    """A stack of so many shims with every pack as stiff in bending as it is now.

    Parameters
    ----------
    stack : from the piston outwards.
    as_it_is : whether this is the stack itself.
    fits : whether the nut keeps its thread length.
    moved : for each band that the job moves or holds, the largest relative change of its force against the
        stack as it is. [-]
    pulls : largest relative change elsewhere for each single pull, in rising order, see :func:`rung_of`. [-]
    steps : for each band that the job moves or holds, the median size of a pull's average shift. [-]
    """

    stack: Stack
    as_it_is: bool
    fits: bool
    moved: tuple[float, ...]
    pulls: tuple[float, ...]
    steps: tuple[float, ...]

    @property
    def shims(self) -> int:
        """How many there are."""
        return len(self.stack.shims)

    @property
    def thinnest(self) -> float:
        """Thickness of the thinnest. [m]"""
        return min(shim.thickness for shim in self.stack.shims)

    @property
    def pull(self) -> float:
        """What pulling one shim moves that it should not: the median over the pulls. [-]"""
        return float(np.median(self.pulls)) if self.pulls else math.nan


def rebuilt(stack: Stack, *, shims: int, mounting: Mounting) -> Stack | None:
    r"""A stack of about equal curve from another number of shims; None when that number cannot be had.

    Parameters
    ----------
    stack : as it is.
    shims : how many it is to have.
    mounting : says which shims only clamp.

    Notes
    -----
    A pack is replaced by n shims of one thickness t' with :math:`n t'^3 = \sum t^3`, since bending stiffness
    goes with thickness cubed: one shim of 0.20 bends like eight of 0.10. The n are shared out as the shims
    are now. Stretching goes with thickness and grows by :math:`(n/n_0)^{2/3}`, so that a finer stack stiffens
    more where it lifts far. Crossovers, rings and shims that only clamp stay: their height is a gap or none
    of the bending.
    """
    packs = _packs(stack)
    fixed = [_stays(packs, place, mounting) for place in range(len(packs))]
    counts = [len(pack) for pack in packs]
    bending = sum(count for count, stays in zip(counts, fixed, strict=True) if not stays)
    wanted = shims - (len(stack.shims) - bending)
    loose = [place for place, stays in enumerate(fixed) if not stays]
    if wanted < len(loose) or not loose:
        return None
    if wanted == bending:
        return stack
    shares = _shared_out([counts[place] for place in loose], wanted)
    made: list[Shim] = []
    for place, pack in enumerate(packs):
        if fixed[place]:
            made += pack
            continue
        number = shares[loose.index(place)]
        thickness = (sum(shim.thickness**3 for shim in pack) / number) ** (1 / 3)
        made += [replace(pack[0], thickness=thickness)] * number
    return Stack(tuple(made))


def fewest_shims(stack: Stack, *, mounting: Mounting) -> int:
    """Shims of the coarsest equivalent: every pack that bends is one shim."""
    packs = _packs(stack)
    return sum(len(pack) if _stays(packs, place, mounting) else 1 for place, pack in enumerate(packs))


def ladder(stack: Stack, *, mounting: Mounting) -> tuple[int, ...]:
    """Numbers of shims to compare: the coarsest, the usual ones, and the stack as it is."""
    least = fewest_shims(stack, mounting=mounting)
    return tuple(sorted({least, len(stack.shims), *(count for count in USUAL_COUNTS if count > least)}))


def rung_of(
    stack: Stack,
    *,
    goal: Goal,
    forces: Callable[[Stack], Floats],
    mounting: Mounting,
    as_it_is: bool,
) -> Rung | None:
    """How fine a stack is; None when the model has no answer for it.

    Every shim that bends is pulled once. What a pull moves elsewhere is its largest relative change of force
    over the velocities of the held bands; where a job holds none, over those that only have to stay familiar.
    Pulls that leave the ports open, or that the model has no answer for, are left out.

    Parameters
    ----------
    stack : the one to judge.
    goal : its bands.
    forces : damping force [N] of a stack at each velocity of the goal; nan where there is none.
    mounting : the place that it is bolted to.
    as_it_is : whether it is the one in the damper.
    """
    own = forces(stack)
    if not np.isfinite(own).all():
        return None
    held = held_part(goal)
    bands = asked_bands(goal)
    pulls: list[float] = []
    shifts: list[list[float]] = [[] for _ in bands]
    for count, one in single_pulls(stack, mounting=mounting):
        after = forces(one)
        if not np.isfinite(after).all():
            continue
        change = np.abs(after / own - 1)
        pulls += [float(change[held].max())] * count
        for place, (window, part) in enumerate(bands):
            mean = np.expm1(mean_weights(window.velocities) @ np.log(after[part] / own[part]))
            shifts[place] += [abs(float(mean))] * count
    moved = tuple(float(np.abs(own[part] / goal.before[part] - 1).max()) for _, part in bands)
    return Rung(
        stack=stack,
        as_it_is=as_it_is,
        fits=stack.height <= mounting.most_height + 1e-9,
        moved=moved,
        pulls=tuple(sorted(pulls)),
        steps=tuple(float(np.median(band)) if band else math.nan for band in shifts),
    )


def held_part(goal: Goal) -> NDArray[np.intp]:
    """Places of the velocities that a change should leave alone."""
    for role in (Role.HOLD, Role.FAMILIARITY, Role.TARGET):
        places = [np.arange(part.start, part.stop) for window, part in goal.parts if window.role is role]
        if places:
            return np.concatenate(places)
    return np.arange(goal.before.size)


def single_pulls(stack: Stack, *, mounting: Mounting) -> list[tuple[int, Stack]]:
    """The stacks that pulling one shim that bends gives, with the number of shims that give the same one."""
    found: list[tuple[int, Stack]] = []
    shims = stack.shims
    place = 0
    for shim, group in groupby(shims):
        count = len(list(group))
        rest = Stack((*shims[:place], *shims[place + 1 :]))
        covers = bool(rest.shims) and rest.shims[0].outer_diameter >= mounting.least_face_diameter - 5e-7
        if shim.outer_diameter > mounting.clamp_diameter and covers:
            found.append((count, rest))
        place += count
    return found


def _packs(stack: Stack) -> list[list[Shim]]:
    groups = groupby(stack.shims, key=lambda shim: (shim.outer_diameter, shim.inner_diameter))
    return [list(group) for _, group in groups]


def _stays(packs: Sequence[Sequence[Shim]], place: int, mounting: Mounting) -> bool:
    """Whether a pack is a crossover, a ring, or no wider than the clamp."""
    first = packs[place][0]
    behind = packs[place + 1][0] if place + 1 < len(packs) else None
    crossover = behind is not None and behind.outer_diameter > first.outer_diameter
    ring = first.inner_diameter > mounting.hole_diameter + 5e-7
    return crossover or ring or first.outer_diameter <= mounting.clamp_diameter


def _shared_out(counts: Sequence[int], wanted: int) -> list[int]:
    """Whole numbers in proportion to ``counts``, at least 1 each, that sum to ``wanted``."""
    exact = [count * wanted / sum(counts) for count in counts]
    shares = [max(1, math.floor(share)) for share in exact]
    while sum(shares) != wanted:
        short = sum(shares) < wanted
        step = 1 if short else -1
        places = [place for place in range(len(shares)) if short or shares[place] > 1]
        worst = max(places, key=lambda place: (step * (exact[place] - shares[place]), -place))
        shares[worst] += step
    return shares


def rungs(
    stack: Stack,
    *,
    goal: Goal,
    forces: Callable[[Stack], Floats],
    mounting: Mounting,
    should_stop: Callable[[], bool] | None = None,
) -> tuple[Rung, ...]:
    """Every stack of the ladder, the coarsest first, up to where the user stops it."""
    found: list[Rung] = []
    for shims in ladder(stack, mounting=mounting):
        if should_stop is not None and should_stop():
            break
        made = rebuilt(stack, shims=shims, mounting=mounting)
        if made is None:
            continue
        rung = rung_of(made, goal=goal, forces=forces, mounting=mounting, as_it_is=made is stack)
        if rung is not None:
            found.append(rung)
    return tuple(found)
