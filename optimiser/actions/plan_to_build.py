"""From a plan's document to what the ledger keeps of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from optimiser.documents.common import CountedShim, ShimDocument
from optimiser.documents.folded import FoldedDocument
from optimiser.documents.parts import PartDocument
from optimiser.documents.plan import CandidateDocument, PlanDocument
from optimiser.errors import InputError
from optimiser.ledger.part_swaps import PartSwap, RingSwap, Swaps
from optimiser.ledger.planned import CandidateToBuild, PlanToBuild
from optimiser.model.stock import ShimKey


def plan_to_build(plan: PlanDocument) -> PlanToBuild:
    """The plan as the ledger takes it."""
    return PlanToBuild(
        document=plan.model_dump_json(),
        said=plan.said,
        stack_name=plan.stack_name,
        swaps=_swaps(plan),
        candidates=tuple(
            CandidateToBuild(
                rank=candidate.rank,
                taken=_beyond(candidate.changes.put_in, candidate.changes.out),
                returned=_beyond(candidate.changes.out, candidate.changes.put_in),
                stack=_stack(candidate.stack),
                others=_with_rings(plan) | _other_stacks(candidate),
                stays=isinstance(candidate, CandidateDocument) and plan.stack_name in candidate.stays_shut,
                readings={
                    _key(one): tuple(round(reading * 1000) for reading in one.readings_mm)
                    for one in candidate.from_shelf
                    if one.readings_mm
                },
            )
            for candidate in plan.buildable
        ),
    )


def _other_stacks(candidate: CandidateDocument | FoldedDocument) -> dict[str, tuple[ShimKey, ...]]:
    """The other stacks that change; what is folded away changes one alone."""
    if not isinstance(candidate, CandidateDocument):
        return {}
    return {one.stack_name: _stack(one.stack) for one in candidate.others}


def _with_rings(plan: PlanDocument) -> dict[str, tuple[ShimKey, ...]]:
    """Stacks that change by their ring alone; in the plan's own stack the ring is one of its shims."""
    return {
        one.name: _stack(one.stack_after)
        for one in _chosen(plan)
        if one.stack_after is not None and one.name != plan.stack_name
    }


def _swaps(plan: PlanDocument) -> Swaps:
    """What becomes another part besides shims."""
    parts, rings = [], []
    for one in _chosen(plan):
        if one.file_before is not None and one.file_after is not None:
            parts.append(PartSwap(one.kind, one.name, one.file_before, one.file_after))
        elif one.stack_before is not None and one.stack_after is not None:
            old, new = Counter(_stack(one.stack_before)), Counter(_stack(one.stack_after))
            rings += [RingSwap(*pair) for pair in zip(old - new, new - old, strict=True)]
        else:
            raise InputError(
                f"{plan.job}: got a plan that does not say how its {one.kind} is written into the damper's "
                "file, expected one of this version. Plan the job again."
            )
    return Swaps(tuple(parts), tuple(rings))


def _chosen(plan: PlanDocument) -> Sequence[PartDocument]:
    return () if plan.parts is None else plan.parts.chosen


def _beyond(shims: Iterable[CountedShim], others: Iterable[CountedShim]) -> Mapping[ShimKey, int]:
    """Shims beyond those of the same types that move from one stack of the damper into another."""
    return _counts(shims) - _counts(others)


def _counts(shims: Iterable[CountedShim]) -> Counter[ShimKey]:
    counts = Counter[ShimKey]()
    for shim in shims:
        counts[_key(shim)] += shim.count
    return counts


def _stack(shims: Iterable[ShimDocument]) -> tuple[ShimKey, ...]:
    return tuple(map(_key, shims))


def _key(shim: ShimDocument) -> ShimKey:
    return ShimKey.from_millimetres(
        outer=shim.outer_diameter_mm, thickness=shim.thickness_mm, inner=shim.inner_diameter_mm
    )
