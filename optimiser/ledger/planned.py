"""From a plan to one candidate that can be reserved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from optimiser.errors import InputError
from optimiser.ledger.build_rows import PlannedBuild, Stacks
from optimiser.ledger.jobs import JobNumbers
from optimiser.ledger.part_swaps import NO_SWAPS, Swaps
from optimiser.ledger.readings import Readings
from optimiser.model.stock import ShimKey, Stock


@dataclass(frozen=True, slots=True, kw_only=True)
class CandidateToBuild:
    """What a candidate of a plan takes and makes.

    Parameters
    ----------
    rank : its place in the plan, from 1.
    taken : what it needs from the shelf.
    returned : what comes out of the damper.
    stack : the stack to build, from the piston outwards.
    readings : what those measure that are to be taken, of types of which single ones are meant. [um]
    others : other stacks of the damper that it changes too; ``taken`` and ``returned`` are of all together.
    stays : whether the plan's own stack stays as it is, and only others change.
    """

    rank: int
    taken: Mapping[ShimKey, int]
    returned: Mapping[ShimKey, int]
    stack: tuple[ShimKey, ...]
    readings: Readings = field(default_factory=dict)
    others: Stacks = field(default_factory=dict)
    stays: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanToBuild:
    """What the ledger keeps of a plan.

    Parameters
    ----------
    document : the whole plan as ``shimwright plan --json`` wrote it, kept as it was.
    said : the plan's answer in a sentence.
    stack_name : the stack that changes.
    candidates : in the plan's order.
    swaps : what becomes another part besides shims, with every one of them.
    """

    document: str
    said: str
    stack_name: str
    candidates: tuple[CandidateToBuild, ...]
    swaps: Swaps = NO_SWAPS


def candidate_of(plan: PlanToBuild, pick: int) -> CandidateToBuild:
    """One candidate of a plan, from 1 as the plan counts them; refused with those that there are."""
    for candidate in plan.candidates:
        if candidate.rank == pick:
            return candidate
    ranks = [candidate.rank for candidate in plan.candidates]
    expected = f"one of {', '.join(str(rank) for rank in ranks)}" if ranks else "a plan that has candidates"
    raise InputError(f"--pick: got {pick}, expected {expected}. The plan says: {plan.said}")


def planned_build(plan: PlanToBuild, *, pick: int, numbers: JobNumbers) -> PlannedBuild:
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
    candidate = candidate_of(plan, pick)
    stacks = {plan.stack_name: candidate.stack, **candidate.others}
    if candidate.stays and candidate.others:
        del stacks[plan.stack_name]
    (first, stack), *others = stacks.items()
    return PlannedBuild(
        job_id=numbers.job_id,
        damper_id=numbers.damper_id,
        plan_json=plan.document,
        pick=pick,
        taken=candidate.taken,
        returned=candidate.returned,
        stack_name=first,
        stack=stack,
        readings=candidate.readings,
        others=dict(others),
        swaps=plan.swaps,
    )


def buildable_picks(plan: PlanToBuild, stock: Stock) -> tuple[int, ...]:
    """The candidates of a plan that free stock allows, in the plan's order."""
    return tuple(
        candidate.rank
        for candidate in plan.candidates
        if all(stock.count(key) >= count for key, count in candidate.taken.items())
    )


def other_way(plan: PlanToBuild, stock: Stock, *, job: str) -> str:
    """What to build instead when shims are gone: the same plan without them, or a new one."""
    picks = buildable_picks(plan, stock)
    again = f"'shimwright plan {job}' plans without what is reserved."
    if not picks:
        return f"No other candidate of this plan can be built from what is free; {again}"
    listed = ", ".join(str(pick) for pick in picks)
    return f"Still buildable from what is free: candidate {listed} of the same plan; or {again}"
