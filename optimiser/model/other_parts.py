"""What a tuner can turn besides shims and clickers: oil, gas pressure, a bleed's hole, a preload ring.

Each is a list of what the shop has. A change of such a part makes another damper of the one that is there.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

from damping_model.flow.oil import Oil
from damping_model.flow.paths import Bleed
from damping_model.stack.stack import Stack
from optimiser.errors import InputError
from optimiser.model.damper_description import DamperDescription
from optimiser.model.stock import ShimKey


class PartKind(Enum):
    """What may be turned."""

    OIL = "oil"
    GAS = "gas pressure"
    BLEED = "bleed"
    RING = "preload ring"

    @property
    def opens(self) -> bool:
        """Whether a valve is taken apart for it, as for shims."""
        return self in {PartKind.BLEED, PartKind.RING}


USUAL_TIME: Final = {
    PartKind.OIL: 1800.0,
    PartKind.GAS: 900.0,
    PartKind.BLEED: 600.0,
    PartKind.RING: 600.0,
}
"""What each costs besides the opening of a valve; common practice, no source. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class AtHand:
    """What the shop has of one part.

    Parameters
    ----------
    kind : of the part.
    name : of the bleed, or of the stack that the ring lies in; empty for oil and gas.
    choices : oils; gauge pressures [Pa]; diameters of the bleed's hole [m]; thicknesses of the ring [m].
    time : that a change of it costs, besides the opening of a valve. [s]
    """

    kind: PartKind
    name: str
    choices: tuple[Oil | float, ...]
    time: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PartChange:
    """One part that becomes another one.

    Parameters
    ----------
    kind, name, time : of the part, as in :class:`AtHand`.
    was, to : the value that it has, and the one that it gets.
    """

    kind: PartKind
    name: str
    was: Oil | float
    to: Oil | float
    time: float


@dataclass(frozen=True, slots=True)
class ChangedParts:
    """Parts of a damper that are others than now.

    Parameters
    ----------
    changes : of its parts, at least one.
    damper : as it is now, without them.
    """

    changes: tuple[PartChange, ...]
    damper: DamperDescription


def part_changes(part: AtHand, damper: DamperDescription, *, where: str) -> tuple[PartChange, ...]:
    """The changes of one part that a shop can make; what the damper has already is none.

    Parameters
    ----------
    part : what the shop has.
    damper : as it is.
    where : the file, for messages.

    Raises
    ------
    InputError
        When the damper has no such bleed, stack or ring.
    """
    was = _now(part, damper, where=where)
    return tuple(
        PartChange(kind=part.kind, name=part.name, was=was, to=to, time=part.time)
        for to in part.choices
        if not _alike(was, to)
    )


def with_parts(damper: DamperDescription, changes: tuple[PartChange, ...]) -> DamperDescription:
    """A damper with parts changed."""
    for one in changes:
        damper = _with_part(damper, one)
    return damper


def opened_for(changes: Iterable[PartChange], damper: DamperDescription) -> tuple[str, ...]:
    """Assemblies that have to be opened for other parts: those that a bleed or a ring lies in."""
    return tuple(sorted({damper.assemblies[one.name] for one in changes if one.kind.opens}))


def _with_part(description: DamperDescription, one: PartChange) -> DamperDescription:
    damper = description.damper
    if one.kind is PartKind.RING:
        old = description.stack_named(one.name, where="").stack
        return description.with_stack(one.name, with_ring(old, thickness=_figure(one.to)))
    if one.kind is PartKind.OIL:
        return replace(description, damper=replace(damper, oil=_oil(one.to)))
    if one.kind is PartKind.GAS:
        return replace(description, damper=replace(damper, gas_pressure=_figure(one.to)))
    valves = tuple(
        replace(
            valve,
            paths=tuple(
                replace(path, diameter=_figure(one.to))
                if isinstance(path, Bleed) and path.name == one.name
                else path
                for path in valve.paths
            ),
        )
        for valve in damper.valves
    )
    return replace(description, damper=replace(damper, valves=valves))


def ring_places(stack: Stack) -> tuple[int, ...]:
    """Places of the preload rings of a stack, 0 at the piston: what has a wider hole than the face shim."""
    keys = [ShimKey.of(shim) for shim in stack.shims]
    hole = min(key.inner for key in keys)
    return tuple(place for place, key in enumerate(keys) if key.inner > hole)


def with_ring(stack: Stack, *, thickness: float) -> Stack:
    """A stack with its ring of another thickness. [m]"""
    (place,) = ring_places(stack)
    shims = list(stack.shims)
    shims[place] = replace(shims[place], thickness=thickness)
    return Stack(tuple(shims))


def _now(part: AtHand, description: DamperDescription, *, where: str) -> Oil | float:
    damper = description.damper
    if part.kind is PartKind.OIL:
        return damper.oil
    if part.kind is PartKind.GAS:
        return damper.gas_pressure
    if part.kind is PartKind.BLEED:
        bleeds = {path.name: path for path in damper.paths if isinstance(path, Bleed)}
        if part.name not in bleeds:
            known = ", ".join(f"'{name}'" for name in bleeds) or "none"
            raise InputError(
                f"{where}: at_hand: got the bleed {part.name!r}, expected one of {damper.name}: {known}."
            )
        return bleeds[part.name].diameter
    stack = description.stack_named(part.name, where=f"{where}: at_hand: name").stack
    places = ring_places(stack)
    if len(places) != 1:
        raise InputError(
            f"{where}: at_hand: got the stack '{part.name}', expected one with a single preload ring; it has "
            f"{len(places) or 'none'}."
        )
    return stack.shims[places[0]].thickness


def _alike(was: Oil | float, to: Oil | float) -> bool:
    if isinstance(was, Oil) and isinstance(to, Oil):
        return (was.viscosity_points, was.density_15) == (to.viscosity_points, to.density_15)
    return abs(_figure(was) - _figure(to)) <= 1e-9 * abs(_figure(was))


def _figure(value: Oil | float) -> float:
    if isinstance(value, Oil):
        raise TypeError("an oil where a figure was expected")
    return value


def _oil(value: Oil | float) -> Oil:
    if not isinstance(value, Oil):
        raise TypeError("a figure where an oil was expected")
    return value
