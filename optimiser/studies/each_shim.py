"""What each shim of a stack does: every one taken out once, and one more of it put in once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.model.band_result import BandResult, band_result
from optimiser.model.edits import keys_of, stack_of
from optimiser.model.goal import Goal
from optimiser.model.objection import Objection
from optimiser.model.rules import Mounting, Rule, rules_for, violations
from optimiser.model.stock import ShimKey

Floats = NDArray[np.float64]

NO_ANSWER = "The model has no answer for the stack that is left."


@dataclass(frozen=True, slots=True)
class Tried:
    """A stack with one shim less or more.

    Parameters
    ----------
    stack : as it would be, from the piston outwards.
    forces : damping force at each velocity of the goal; empty where it cannot be built. [N]
    bands : what that does to each band; empty likewise.
    why_not : why it cannot be built, in sentences; empty when it can.
    mind : what speaks against building it all the same; None when nothing does.
    """

    stack: Stack
    forces: tuple[float, ...]
    bands: tuple[BandResult, ...]
    why_not: tuple[str, ...]
    mind: Objection | None = None


@dataclass(frozen=True, slots=True)
class ShimTried:
    """Neighbours that are alike: whichever of them goes, the same stack is left.

    Parameters
    ----------
    places : where they lie, 0 at the piston.
    key : their type.
    out : with one of them out.
    one_more : with another of them beside them.
    """

    places: tuple[int, ...]
    key: ShimKey
    out: Tried
    one_more: Tried


def each_shim(
    stack: Stack,
    *,
    mounting: Mounting,
    goal: Goal,
    forces: Callable[[Stack], Floats],
    against: Callable[[Stack], Objection | None] = lambda _: None,
) -> tuple[ShimTried, ...]:
    """Every shim out, and one more of every shim, from the piston outwards.

    Parameters
    ----------
    stack : as it is.
    mounting : the place that it is bolted to; what its rules forbid is named and not computed.
    goal : the bands.
    forces : damping force of a stack at each velocity of the goal; nan where the model has no answer. [N]
    against : what speaks against a stack that can be built.
    """
    keys, rules = keys_of(stack), rules_for(stack, mounting)

    def tried(new: Sequence[ShimKey]) -> Tried:
        made = stack_of(new)
        why_not = _why_not(made, rules, mounting)
        found = np.empty(0) if why_not else forces(made)
        if not why_not and not np.isfinite(found).all():
            why_not = (NO_ANSWER,)
        if why_not:
            return Tried(made, (), (), why_not)
        values = tuple(float(force) for force in found)
        results = tuple(band_result(window, values[part]) for window, part in goal.parts)
        return Tried(made, values, results, (), against(made))

    steps = []
    for key, group in groupby(range(len(keys)), key=lambda place: keys[place]):
        places = tuple(group)
        end = places[-1]
        out, one_more = (*keys[:end], *keys[end + 1 :]), (*keys[: end + 1], key, *keys[end + 1 :])
        steps.append(ShimTried(places, key, tried(out), tried(one_more)))
    return tuple(steps)


def _why_not(stack: Stack, rules: Sequence[Rule], mounting: Mounting) -> tuple[str, ...]:
    return tuple(violations(rules, stack, mounting)) if stack.shims else ("No shim would be left.",)
