"""How thick a damper's shims really are where runs on a dyno told it, and how long that stays known."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable
from dataclasses import replace

from damping_model.damper.damper import Damper
from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.stack import Stack
from optimiser.model.stock import ShimKey
from optimiser.unknowns.unknown import nominal_figure


def with_real_thicknesses(damper: Damper, pairs: tuple[tuple[float, float], ...]) -> Damper:
    """The damper whose shims of some nominal thicknesses are really as thick as told, and no others.

    Parameters
    ----------
    damper : whatever was told of it before.
    pairs : nominal and real thickness. [m]
    """
    if all(path.real_thicknesses == pairs for path in damper.stacks):
        return damper
    valves = tuple(
        replace(
            valve,
            paths=tuple(
                replace(path, real_thicknesses=pairs) if isinstance(path, ShimValve) else path
                for path in valve.paths
            ),
        )
        for valve in damper.valves
    )
    return replace(damper, valves=valves)


def told_only(damper: Damper, figures: Container[str]) -> Damper:
    """The damper with only those real thicknesses that some unknown figures are of."""
    pairs = {pair for path in damper.stacks for pair in path.real_thicknesses}
    return with_real_thicknesses(
        damper, tuple(sorted(pair for pair in pairs if nominal_figure(pair[0]) in figures))
    )


def same_steel(before: Iterable[Stack], after: Iterable[Stack]) -> frozenset[str]:
    """The thicknesses, as unknown figures are named, of which every shim was in the damper before.

    What was known of those stays known: a shim that moves to another stack is the same steel, and one that
    goes leaves the rest as they are. Where one comes in, nobody knows which of the others it is alike.

    Parameters
    ----------
    before, after : all stacks of the damper.
    """
    there, now = (
        Counter(ShimKey.of(shim) for stack in stacks for shim in stack.shims) for stacks in (before, after)
    )
    came = {key.thickness for key in now - there}
    return frozenset(nominal_figure(key.shim.thickness) for key in now if key.thickness not in came)


def stacks_in(damper: Damper) -> tuple[Stack, ...]:
    """All stacks of a damper."""
    return tuple(path.stack for path in damper.stacks)
