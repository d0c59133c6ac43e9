"""Parts besides shims in the books: what a build makes of oil, gas, bleeds and preload rings."""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import dataclass, replace

from optimiser.model.damper_description import FiledValue
from optimiser.model.stock import ShimKey


@dataclass(frozen=True, slots=True)
class PartSwap:
    """One part that a build makes another one; a preload ring is a shim of its stack, see :class:`RingSwap`.

    Parameters
    ----------
    kind : oil, gas pressure or bleed.
    name : of the bleed; empty for oil and gas.
    was, to : what it is before the build and after it, as the damper file says it.
    """

    kind: str
    name: str
    was: FiledValue
    to: FiledValue


@dataclass(frozen=True, slots=True)
class RingSwap:
    """A preload ring that becomes another one.

    Parameters
    ----------
    was, to : the rings, which are shims of their stack with a hole wider than the shaft.
    taken, returned : whether the one that goes in comes from the shelf, and the one that comes out goes
        there: both only where the shelf lists their type, else the job's own list is the word for them.
    """

    was: ShimKey
    to: ShimKey
    taken: bool = False
    returned: bool = False


@dataclass(frozen=True, slots=True)
class Swaps:
    """What a build swaps besides shims."""

    parts: tuple[PartSwap, ...] = ()
    rings: tuple[RingSwap, ...] = ()


NO_SWAPS = Swaps()


def swaps_json(swaps: Swaps) -> str:
    """Swaps as the ledger keeps them with a build."""
    parts = [{"kind": one.kind, "name": one.name, "was": one.was, "to": one.to} for one in swaps.parts]
    rings = [
        {
            "kind": "preload ring",
            "was": list(one.was),
            "to": list(one.to),
            "taken": one.taken,
            "returned": one.returned,
        }
        for one in swaps.rings
    ]
    return json.dumps([*parts, *rings], ensure_ascii=False)


def swaps_from_json(text: str) -> Swaps:
    """The same read back."""
    parts, rings = [], []
    for one in json.loads(text):
        if one["kind"] == "preload ring":
            was, to = ShimKey(*one["was"]), ShimKey(*one["to"])
            rings.append(RingSwap(was, to, one["taken"], one["returned"]))
        else:
            parts.append(PartSwap(one["kind"], one["name"], one["was"], one["to"]))
    return Swaps(tuple(parts), tuple(rings))


def value_json(value: FiledValue) -> str:
    """A value as the ledger keeps it: equal values have equal texts."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True)


def with_shelf(swaps: Swaps, listed: Collection[ShimKey]) -> Swaps:
    """The same swaps, with rings counted where the shelf lists their type."""
    rings = (replace(one, taken=one.to in listed, returned=one.was in listed) for one in swaps.rings)
    return replace(swaps, rings=tuple(rings))
