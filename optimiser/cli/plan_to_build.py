"""From a plan's document to what the ledger keeps of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from optimiser.documents.common import CountedShim, ShimDocument
from optimiser.documents.plan import PlanDocument
from optimiser.ledger.planned import CandidateToBuild, PlanToBuild
from optimiser.model.stock import ShimKey


def plan_to_build(plan: PlanDocument) -> PlanToBuild:
    """The plan as the ledger takes it."""
    return PlanToBuild(
        document=plan.model_dump_json(),
        said=plan.said,
        stack_name=plan.stack_name,
        candidates=tuple(
            CandidateToBuild(
                rank=candidate.rank,
                taken=_counts(candidate.changes.put_in),
                returned=_counts(candidate.changes.out),
                stack=tuple(_key(shim) for shim in candidate.stack),
                others=tuple(other.stack_name for other in candidate.others),
                readings={
                    _key(one): tuple(round(reading * 1000) for reading in one.readings_mm)
                    for one in candidate.from_shelf
                    if one.readings_mm
                },
            )
            for candidate in plan.candidates
        ),
    )


def _counts(shims: Iterable[CountedShim]) -> Mapping[ShimKey, int]:
    counts: dict[ShimKey, int] = {}
    for shim in shims:
        counts[_key(shim)] = counts.get(_key(shim), 0) + shim.count
    return counts


def _key(shim: ShimDocument) -> ShimKey:
    return ShimKey.from_millimetres(
        outer=shim.outer_diameter_mm, thickness=shim.thickness_mm, inner=shim.inner_diameter_mm
    )
