"""A job's plan, as one shelf for many jobs looks at it: what each candidate takes, changes and misses."""

from __future__ import annotations

from collections import Counter

from optimiser.allocation.job_options import JobOption
from optimiser.documents.common import FromShelf
from optimiser.documents.folded import FoldedDocument
from optimiser.documents.plan import CandidateDocument, PlanDocument
from optimiser.model.stock import ShimKey


def day_options(plan: PlanDocument) -> tuple[JobOption, ...]:
    """The candidates of a plan and what is folded under them, by rank."""
    return tuple(_option(one, exact=plan.measured) for one in plan.buildable)


def _option(one: CandidateDocument | FoldedDocument, *, exact: bool) -> JobOption:
    taken = Counter[ShimKey]()
    readings: dict[ShimKey, tuple[int, ...]] = {}
    for shim in one.from_shelf:
        # A shim that was planned with what it measures lies in the drawer of its type.
        key = _type(shim)
        taken[key] += shim.count
        named = [shim.thickness_mm] * shim.count if shim.drawer_of else shim.readings_mm
        if named:
            own = (round(1000 * reading) for reading in named)
            readings[key] = tuple(sorted((*readings.get(key, ()), *own)))
    return JobOption(
        rank=one.rank,
        taken=dict(taken),
        changes=one.number_of_changes,
        miss=one.miss_percent / 100,
        readings=readings,
        exact=exact,
    )


def _type(shim: FromShelf) -> ShimKey:
    kind = shim.drawer_of or shim
    return ShimKey.from_millimetres(
        outer=kind.outer_diameter_mm, thickness=kind.thickness_mm, inner=kind.inner_diameter_mm
    )
