"""From a plan's document to one candidate that can be reserved."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from pydantic import ValidationError

from optimiser.documents.plan import CandidateDocument, CountedShim, PlanDocument, ShimDocument
from optimiser.errors import InputError
from optimiser.ledger.builds import PlannedBuild
from optimiser.ledger.jobs import JobNumbers
from optimiser.model.stock import ShimKey, Stock


def read_plan(text: str, *, name: str) -> PlanDocument:
    """Read what ``shimwright plan --json`` wrote; ``name`` stands for the file in messages."""
    try:
        return PlanDocument.model_validate_json(text)
    except ValidationError as error:
        fault = error.errors()[0]
        place = ".".join(str(part) for part in fault["loc"]) or "the document"
        raise InputError(
            f"{name}: {place}: {fault['msg']}; expected what 'shimwright plan JOB --json' writes. "
            "Write it again with this shimwright."
        ) from None


def planned_build(plan: PlanDocument, *, pick: int, numbers: JobNumbers) -> PlannedBuild:
    """One candidate, ready for :func:`optimiser.ledger.builds.reserve`.

    Parameters
    ----------
    plan : the plan.
    pick : which candidate, from 1 as the plan counts them.
    numbers : the job's and the damper's place in the ledger.

    Raises
    ------
    InputError
        When the plan has no such candidate.
    """
    candidate = _candidate(plan, pick)
    return PlannedBuild(
        job_id=numbers.job_id,
        damper_id=numbers.damper_id,
        plan_json=plan.model_dump_json(),
        pick=pick,
        taken=_counts(candidate.changes.put_in),
        returned=_counts(candidate.changes.out),
        stack_name=plan.stack_name,
        stack=tuple(_key(shim) for shim in candidate.stack),
    )


def buildable_picks(plan: PlanDocument, stock: Stock) -> tuple[int, ...]:
    """The candidates of a plan that free stock allows, in the plan's order."""
    return tuple(
        candidate.rank
        for candidate in plan.candidates
        if all(stock.count(key) >= count for key, count in _counts(candidate.changes.put_in).items())
    )


def other_way(plan: PlanDocument, stock: Stock, *, job: str) -> str:
    """What to build instead when shims are gone: the same plan without them, or a new one."""
    picks = buildable_picks(plan, stock)
    again = f"'shimwright plan {job}' plans without what is promised."
    if not picks:
        return f"No other candidate of this plan can be built from what is free; {again}"
    listed = ", ".join(str(pick) for pick in picks)
    return f"Still buildable from what is free: candidate {listed} of the same plan; or {again}"


def _candidate(plan: PlanDocument, pick: int) -> CandidateDocument:
    for candidate in plan.candidates:
        if candidate.rank == pick:
            return candidate
    ranks = [candidate.rank for candidate in plan.candidates]
    expected = f"one of {', '.join(str(rank) for rank in ranks)}" if ranks else "a plan that has candidates"
    raise InputError(f"--pick: got {pick}, expected {expected}. The plan says: {plan.said}")


def _counts(shims: Iterable[CountedShim]) -> Mapping[ShimKey, int]:
    counts: dict[ShimKey, int] = {}
    for shim in shims:
        counts[_key(shim)] = counts.get(_key(shim), 0) + shim.count
    return counts


def _key(shim: ShimDocument) -> ShimKey:
    return ShimKey.from_millimetres(
        outer=shim.outer_diameter_mm, thickness=shim.thickness_mm, inner=shim.inner_diameter_mm
    )
