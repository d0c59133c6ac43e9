"""From a plan's document to what the ledger keeps of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from optimiser.documents.common import CountedShim, ShimDocument
from optimiser.documents.folded import FoldedDocument
from optimiser.documents.plan import CandidateDocument, PlanDocument
from optimiser.errors import InputError
from optimiser.ledger.planned import CandidateToBuild, PlanToBuild
from optimiser.model.stock import ShimKey


def plan_to_build(plan: PlanDocument) -> PlanToBuild:
    """The plan as the ledger takes it.

    Raises
    ------
    InputError
        When a preload ring of its stack becomes another one: the books know no rings besides the shelf.
    """
    chosen = () if plan.parts is None else plan.parts.chosen
    if any(one.kind == "preload ring" and one.name == plan.stack_name for one in chosen):
        raise InputError(
            f"{plan.job}: got a plan that swaps the preload ring of the {plan.stack_name}, expected one that "
            "keeps it: the ledger cannot reserve a ring that is not on its shelf. Swap the ring first, write "
            "it into the damper's file, and plan the job again."
        )
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
                others=_other_stacks(candidate),
                readings={
                    _key(one): tuple(round(reading * 1000) for reading in one.readings_mm)
                    for one in candidate.from_shelf
                    if one.readings_mm
                },
            )
            for candidate in plan.buildable
        ),
    )


def _other_stacks(candidate: CandidateDocument | FoldedDocument) -> tuple[str, ...]:
    """Names of the other stacks that change; what is folded away changes one alone."""
    return (
        tuple(one.stack_name for one in candidate.others) if isinstance(candidate, CandidateDocument) else ()
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
