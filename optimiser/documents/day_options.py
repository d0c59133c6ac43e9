"""A job's plan, as one shelf for many jobs looks at it: what each candidate takes, changes and misses."""

from __future__ import annotations

from collections import Counter

from optimiser.allocation.day_choice import JobOption
from optimiser.documents.plan import CandidateDocument, PlanDocument
from optimiser.model.stock import ShimKey


def day_options(plan: PlanDocument) -> tuple[JobOption, ...]:
    """The candidates of a plan, in its order."""
    return tuple(
        JobOption(
            rank=candidate.rank,
            taken=_taken(candidate),
            changes=candidate.number_of_changes,
            miss=candidate.miss_percent / 100,
        )
        for candidate in plan.candidates
    )


def _taken(candidate: CandidateDocument) -> dict[ShimKey, int]:
    taken = Counter[ShimKey]()
    for shim in candidate.from_shelf:
        # A shim that was measured lies in the drawer of its type.
        kind = shim.drawer_of or shim
        key = ShimKey.from_millimetres(
            outer=kind.outer_diameter_mm, thickness=kind.thickness_mm, inner=kind.inner_diameter_mm
        )
        taken[key] += shim.count
    return dict(taken)
