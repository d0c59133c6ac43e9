"""From a stack, a shelf and a number of changes to the shapes that have to be searched."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from damping_model.packs import Pack, PreloadRing
from damping_model.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.edits import keys_of
from optimiser.rules import DiametersFall, Rule, Station
from optimiser.search.menu import Menu, menu
from optimiser.search.runs import Runs
from optimiser.search.shape import Shape, Slot
from optimiser.search.skeleton import Kept, OldPack, Skeleton, old_packs, skeletons
from optimiser.stock import ShimKey, Stock


@dataclass(frozen=True, slots=True)
class Workshop:
    """What every shape of one job shares.

    Parameters
    ----------
    stack : what is in the damper.
    station : the place that it is bolted to.
    rules : what a stack has to keep.
    packs : of the stack, rings joined to what centres them.
    plates : every type that may be used, as a plate of its own, by diameter.
    available : how many of each type there are, in the damper and on the shelf together.
    """

    stack: Stack
    station: Station
    rules: tuple[Rule, ...]
    packs: tuple[OldPack, ...]
    plates: dict[int, dict[ShimKey, Pack]]
    available: Counter[ShimKey]

    @property
    def most_runs(self) -> int:
        """Most runs of falling diameter that the rules allow."""
        fall = [rule.most_crossovers for rule in self.rules if isinstance(rule, DiametersFall)]
        return 1 + min(fall, default=2)

    @property
    def thickest(self) -> float:
        """Thickness of the thickest shim there is. [m]"""
        return max(key.thickness for kind in self.plates.values() for key in kind) * MICROMETRE


def workshop(
    runs: Runs, *, stack: Stack, station: Station, stock: Stock, rules: tuple[Rule, ...]
) -> Workshop:
    """Everything that fits the shaft and clears the bore, weighed once."""
    hole = round(station.hole_diameter / MICROMETRE)
    widest = 2 * station.bore_radius / MICROMETRE
    available = Counter(keys_of(stack)) + Counter({k: n for k, n in stock.counts.items() if n > 0})
    face = stack.shims[0]
    plates: dict[int, dict[ShimKey, Pack]] = defaultdict(dict)
    for key in sorted(available):
        if key.inner == hole and key.outer < widest:
            plate = runs.plate(key, face)
            if key.outer * MICROMETRE <= station.clamp_diameter:
                plate = Pack(plate.outer_radius, 0.0, 0.0, 0.0, plate.height)
            plates[key.outer][key] = plate
    return Workshop(stack, station, rules, old_packs(stack, hole=hole), dict(plates), available)


def shapes(shop: Workshop, runs: Runs, changes: int) -> tuple[Shape, ...]:
    """Every shape that a stack within a number of changes can have."""
    found = skeletons(shop.packs, most_runs=shop.most_runs, most_changes=changes)
    menus: dict[tuple[int, tuple[ShimKey, ...], int], Menu] = {}
    return tuple(_shape(one, shop, runs, changes, menus) for one in found)


def _shape(
    skeleton: Skeleton,
    shop: Workshop,
    runs: Runs,
    changes: int,
    menus: dict[tuple[int, tuple[ShimKey, ...], int], Menu],
) -> Shape:
    clamp = keys_of(shop.stack)[-1]
    least_face = round(shop.station.least_face_diameter / MICROMETRE)
    packs = {(run, keys[0].outer): pack for run, keys in skeleton.kept for pack in shop.packs
             if pack.frozen and pack.keys == keys}  # fmt: skip
    slots = []
    for run in range(skeleton.runs):
        for outer in sorted(shop.plates, reverse=True):
            now = _now(skeleton.kept, run, outer)
            if run == skeleton.runs - 1 and outer < clamp.outer:
                continue
            pack = packs.get((run, outer))
            free = changes if pack is None else 0
            asked = (outer, now, free)
            if asked not in menus:
                menus[asked] = menu(
                    now, plates=shop.plates[outer], available=shop.available, most_out=free, most_in=free
                )
            if len(menus[asked].contents) == 1 and not now:
                continue
            before, after = (pack.before, pack.after) if pack else ((), ())
            slots.append(Slot(run, outer, menus[asked], before, after, _ring(pack, runs, shop.stack)))
    pattern = runs.physics.packed(shop.stack)
    return Shape(
        tuple(slots), skeleton.runs, skeleton.dropped, pattern, least_face, shop.station.clamp_diameter / 2
    )


def _now(kept: Kept, run: int, outer: int) -> tuple[ShimKey, ...]:
    return tuple(key for at, keys in kept for key in keys if at == run and key.outer == outer)


def _ring(pack: OldPack | None, runs: Runs, stack: Stack) -> PreloadRing | None:
    """The ring around a pack as the model sees it; none when it lies level."""
    if pack is None:
        return None
    keys = (*pack.before, *pack.keys, *pack.after)
    rings = runs.physics.packed(Stack((stack.shims[0], *(key.shim for key in keys)))).rings
    return rings[0] if rings else None


def combinations(shape: Shape, changes: int) -> int:
    """Choices in all slots together within a number of changes: what a closed search has covered."""
    ways: NDArray[np.object_] = np.zeros((changes + 1, changes + 1), dtype=object)
    if shape.dropped > changes:
        return 0
    ways[shape.dropped, 0] = 1
    for slot in shape.slots:
        counts = Counter(zip(slot.menu.outs.tolist(), slot.menu.ins.tolist(), strict=True))
        after = np.zeros_like(ways)
        for (out, put_in), number in counts.items():
            after[out:, put_in:] += number * ways[: changes + 1 - out, : changes + 1 - put_in]
        ways = after
    return int(ways.sum())
