"""Shims, and stacks that were left out, as other programs read them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from damping_model.stack.stack import Shim
from damping_model.units import MILLIMETRE
from optimiser.documents.common import (
    ChangesDocument,
    CountedShim,
    FromShelf,
    LeftOutDocument,
    OtherStackDocument,
    ShimDocument,
    UnansweredDocument,
)
from optimiser.model.answer import Candidate, Change
from optimiser.model.objection import LeftOut
from optimiser.model.stock import ShimKey
from optimiser.model.taken import Taken
from optimiser.model.unanswered import Unanswered


def shim_document(shim: Shim) -> ShimDocument:
    """A shim as its type."""
    key = ShimKey.of(shim)
    return ShimDocument(
        outer_diameter_mm=key.outer / 1000,
        thickness_mm=key.thickness / 1000,
        inner_diameter_mm=key.inner / 1000,
    )


def counted_shims(keys: Iterable[ShimKey | None]) -> list[CountedShim]:
    """Shims by type, the widest first."""
    return [
        CountedShim(
            outer_diameter_mm=key.outer / 1000,
            thickness_mm=key.thickness / 1000,
            inner_diameter_mm=key.inner / 1000,
            count=count,
        )
        for key, count in sorted(Counter(key for key in keys if key is not None).items(), reverse=True)
    ]


def changes_document(changes: Iterable[Change]) -> ChangesDocument:
    """What leaves and what comes."""
    every = [*changes]
    return ChangesDocument(
        out=counted_shims(change.out for change in every),
        put_in=counted_shims(change.put_in for change in every),
    )


def from_shelf(taken: Iterable[Taken]) -> list[FromShelf]:
    """What comes from the shelf, of how many, and where those lie."""
    return [
        FromShelf(
            **dict(counted),
            of=one.of,
            drawer=one.drawer,
            readings_mm=[reading / 1000 for reading in one.readings],
            drawer_of=None if one.nominal is None else shim_document(one.nominal.shim),
        )
        for one in taken
        for counted in counted_shims([one.key] * one.count)
    ]


def left_out_document(left_out: LeftOut) -> LeftOutDocument:
    """How many were left out."""
    return LeftOutDocument(
        boiling=left_out.boiling, overstressed=left_out.overstressed, unsure=left_out.unsure
    )


def unanswered_document(unanswered: Unanswered, settings: Sequence[Mapping[str, int]]) -> UnansweredDocument:
    """What had no answer; ``settings`` are the positions of the adjusters by number."""
    return UnansweredDocument(
        settings=[dict(settings[number]) for number in unanswered.settings],
        stacks=[[shim_document(shim) for shim in stack.shims] for stack in unanswered.stacks],
    )


def other_stacks(candidate: Candidate) -> list[OtherStackDocument]:
    """The other stacks that a candidate changes."""
    return [
        OtherStackDocument(
            stack_name=one.name,
            number_of_changes=len(one.changes),
            stack=[shim_document(shim) for shim in one.stack.shims],
            height_mm=round(one.stack.height / MILLIMETRE, 4),
        )
        for one in candidate.others
    ]
