"""From a stack, a shelf and a number of changes to the shapes that have to be searched."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.packs import Pack, PreloadRing
from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.model.edits import keys_of
from optimiser.search.evaluator import Runs
from optimiser.search.space.problem_data import Workshop
from optimiser.search.space.shape import Shape, Slot
from optimiser.search.space.sites import Figures, Patch, Site, patch
from optimiser.search.space.skeleton import OldPack, Skeleton, skeletons
from optimiser.search.tree.branching import Influence, influence

Floats = NDArray[np.float64]


def shapes(shop: Workshop, runs: Runs, changes: int, *, half: Floats, setting: int) -> tuple[Shape, ...]:
    """Every shape that a stack with just so many changes can have; the one that it has now comes first.

    Parameters
    ----------
    shop : the job.
    runs : the physics.
    changes : number of changes.
    half : half the width of the window, as a share of the force wanted, at each velocity. [-]
    setting : of the adjusters.
    """
    found = skeletons(shop.packs, most_runs=shop.most_runs, most_changes=changes)
    made = [_shape(one, shop, runs) for one in found]
    known = influence(made[0], runs, half, setting) if made else Influence({})
    return tuple(
        replace(
            shape, leaving=_weighed(shape, shape.leaving, known), coming=_weighed(shape, shape.coming, known)
        )
        for shape in made
    )


def _weighed(shape: Shape, one: Patch | None, known: Influence) -> Patch | None:
    """Sites with what each of them can do."""
    if one is None:
        return None
    return patch(
        [
            replace(s, weight=known.of(shape.slots[s.place].run, s.key, opens_gap=s.stage[2] > 0))
            for s in one.sites
        ]
    )


def _shape(skeleton: Skeleton, shop: Workshop, runs: Runs) -> Shape:
    clamp = keys_of(shop.stack)[-1]
    frozen = {(run, keys[0].outer): pack for run, keys in skeleton.kept for pack in shop.packs
              if pack.frozen and pack.keys == keys}  # fmt: skip
    slots = []
    for run in range(skeleton.runs):
        for outer in sorted(shop.plates, reverse=True):
            if run == skeleton.runs - 1 and outer < clamp.outer:
                continue
            kept = [k for at, keys in skeleton.kept for k in keys if at == run and k.outer == outer]
            kept.sort(key=lambda key: (-key.thickness, key))
            pack = frozen.get((run, outer))
            before, after = (pack.before, pack.after) if pack else ((), ())
            parts = tuple(figures_of(shop.plates[outer][key]) for key in kept)
            ring = _ring(pack, runs, shop.stack)
            slots.append(Slot(run, outer, tuple(kept), parts, before, after, ring))
    rings = sum(key.thickness for pack in shop.packs for key in (*pack.before, *pack.after))
    kept_height = sum(key.thickness for slot in slots for key in slot.kept)
    free = [place for place, slot in enumerate(slots) if (slot.run, slot.outer) not in frozen]
    return Shape(
        tuple(slots),
        skeleton.runs,
        skeleton.dropped,
        runs.physics.packed(shop.stack),
        round(shop.mounting.least_face_diameter / MICROMETRE),
        shop.mounting.clamp_diameter / 2,
        _patch(slots, free, shop, leaving=True),
        _patch(slots, free, shop, leaving=False),
        (kept_height + rings) * MICROMETRE,
    )


def figures_of(plate: Pack) -> Figures:
    """What a shim that is a plate of its own adds to a pack."""
    give = plate.bending**2 / plate.shear if plate.bending > 0 and plate.shear > 0 else 0.0
    return Figures(plate.bending, plate.stretching, give, plate.height)


def _patch(slots: Sequence[Slot], free: Sequence[int], shop: Workshop, *, leaving: bool) -> Patch | None:
    """All sites where a shim may leave, or come."""
    sites = []
    for place in free:
        slot, stage = slots[place], _stage(slots, place)
        types = Counter(slot.kept) if leaving else {k: shop.available[k] for k in shop.plates[slot.outer]}
        for key, count in types.items():
            sites.append(Site(place, stage, key, figures_of(shop.plates[slot.outer][key]), 1.0, count))
    return patch(sites) if sites else None


def _stage(slots: Sequence[Slot], place: int) -> tuple[int, int, int]:
    """Run, packs that hold the slot off, and whether it holds others off."""
    own = slots[place]
    held_off = sum(bool(s.kept) and s.run < own.run and s.outer < own.outer for s in slots)
    opens = any(s.kept and s.run > own.run and s.outer > own.outer for s in slots)
    return own.run, held_off, int(opens)


def _ring(pack: OldPack | None, runs: Runs, stack: Stack) -> PreloadRing | None:
    """The ring around a pack as the model sees it; none when it lies level."""
    if pack is None:
        return None
    keys = (*pack.before, *pack.keys, *pack.after)
    rings = runs.physics.packed(Stack((stack.shims[0], *(key.shim for key in keys)))).rings
    return rings[0] if rings else None
