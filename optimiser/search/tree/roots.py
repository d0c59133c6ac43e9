"""The roots of the tree: every shape that a stack with so many changes can have.

A skeleton says which old shims stay in which run; here it becomes a shape, with its slots and the patches of
all that may leave and come. Sites carry an estimate of their effect, which branching goes by.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.packs import Pack, PackedStack, PreloadRing
from damping_model.units import MICROMETRE
from optimiser.model.edits import keys_of
from optimiser.model.rings import CentredPack
from optimiser.model.stock import ShimKey
from optimiser.search.evaluator import Evaluator
from optimiser.search.space.problem_data import ProblemData
from optimiser.search.space.shape import Shape, Slot
from optimiser.search.space.sites import Patch, PlateProperties, Site, patch
from optimiser.search.space.skeleton import Skeleton, skeletons
from optimiser.search.tree.branching import Influence, influence

Floats = NDArray[np.float64]


def shapes(
    data: ProblemData, evaluator: Evaluator, changes: int, *, relative_half_width: Floats, setting: int
) -> tuple[Shape, ...]:
    """Every shape that a stack with just so many changes can have; the one that it has now comes first.

    Parameters
    ----------
    data : the problem.
    evaluator : what asks the physics.
    changes : number of changes.
    relative_half_width : half the width of the window, as a share of the desired force, at each velocity. [-]
    setting : of the adjusters.
    """
    found = skeletons(data.packs, most_runs=data.most_runs, most_changes=changes)
    kept_shapes = [_shape(one, data, evaluator) for one in found]
    known = (
        influence(kept_shapes[0], evaluator, relative_half_width, setting) if kept_shapes else Influence({})
    )
    return tuple(
        replace(
            shape,
            leaving=_with_effects(shape, shape.leaving, known),
            coming=_with_effects(shape, shape.coming, known),
        )
        for shape in kept_shapes
    )


def _with_effects(shape: Shape, one: Patch | None, known: Influence) -> Patch | None:
    """Sites with an estimate of what each of them does."""
    if one is None:
        return None
    return patch(
        [
            replace(s, effect=known.of(shape.slots[s.place].run, s.key, opens_gap=s.stage[2] > 0))
            for s in one.sites
        ]
    )


def _shape(skeleton: Skeleton, data: ProblemData, evaluator: Evaluator) -> Shape:
    pattern = evaluator.physics.packed(data.stack)
    slots = tuple(_slots(skeleton, data, pattern))
    free = [place for place, slot in enumerate(slots) if not slot.has_ring]
    height = sum(key.thickness for slot in slots for key in slot.kept)
    return Shape(
        slots,
        skeleton.runs,
        skeleton.dropped,
        pattern,
        round(data.mounting.least_face_diameter / MICROMETRE),
        data.mounting.clamp_diameter / 2,
        _patch(slots, free, data, leaving=True),
        _patch(slots, free, data, leaving=False),
        height * MICROMETRE,
    )


def _slots(skeleton: Skeleton, data: ProblemData, pattern: PackedStack) -> Iterator[Slot]:
    """A slot for each run and diameter; a pack that centres a ring has its own, where nothing moves."""
    clamp = keys_of(data.stack)[-1]
    for run in range(skeleton.runs):
        for outer in sorted(data.plates, reverse=True):
            if run == skeleton.runs - 1 and outer < clamp.outer:
                continue
            kept = [one for one in skeleton.kept if one.run == run and one.keys[0].outer == outer]
            packs = [data.packs[one.number] for one in kept]
            around = [pack for pack in packs if pack.has_ring]
            loose = [k for one, pack in zip(kept, packs, strict=True) if not pack.has_ring for k in one.keys]
            # without a ring between them shims of one diameter would join the pack that centres one
            if not around or around[0].before:
                yield Slot(run, outer, tuple(loose), _properties(loose, data))
            for pack in around:
                rings = _rings(pack, pattern)
                yield Slot(
                    run, outer, pack.keys, _properties(pack.keys, data), pack.before, pack.after, rings
                )


def _properties(keys: Sequence[ShimKey], data: ProblemData) -> tuple[PlateProperties, ...]:
    return tuple(plate_properties(data.plates[key.outer][key]) for key in keys)


def plate_properties(plate: Pack) -> PlateProperties:
    """What a shim as a plate of its own adds to a pack."""
    shear_compliance = plate.bending**2 / plate.shear if plate.bending > 0 and plate.shear > 0 else 0.0
    return PlateProperties(plate.bending, plate.stretching, shear_compliance, plate.height)


def _patch(slots: Sequence[Slot], free: Sequence[int], data: ProblemData, *, leaving: bool) -> Patch | None:
    """All sites where a shim may leave, or come."""
    sites = []
    for place in free:
        slot, stage = slots[place], _stage(slots, place)
        types = Counter(slot.kept) if leaving else {k: data.available[k] for k in data.plates[slot.outer]}
        for key, count in types.items():
            sites.append(Site(place, stage, key, plate_properties(data.plates[slot.outer][key]), 1.0, count))
    return patch(sites) if sites else None


def _stage(slots: Sequence[Slot], place: int) -> tuple[int, int, int]:
    """Run, packs that hold the slot off, and whether it holds others off."""
    own = slots[place]
    held_off = sum(bool(s.kept) and s.run < own.run and s.outer < own.outer for s in slots)
    opens = any(s.kept and s.run > own.run and s.outer > own.outer for s in slots)
    return own.run, held_off, int(opens)


def _rings(pack: CentredPack, pattern: PackedStack) -> tuple[PreloadRing, ...]:
    """The rings around a pack as the model sees them in the stack as it is."""
    first = pack.place + len(pack.before)
    plates = set(pattern.places[first : first + len(pack.keys)])
    return tuple(ring for ring in pattern.rings if ring.centring in plates)
