"""What would do where nothing meets the goal, as keys of the plan's document."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from optimiser.documents.plan import InTheWayDocument, LooseningDocument, MoreSayDocument
from optimiser.jobs.planned import Planned
from optimiser.jobs.variant import Variant
from optimiser.jobs.way_out import loosened, typed


def way_out_keys(planned: Planned) -> dict[str, Any]:
    """Keys and values; none for a plan that has no use for them."""
    out, job = planned.way_out, planned.job
    if out is None:
        return {}

    def line(variant: Variant) -> str:
        return typed(job, variant, override=planned.gate.override_reason)

    one_more = replace(job.variant, most_changes=job.work.most_changes + 1)
    return {
        "in_the_way": [
            InTheWayDocument(
                name=window.name,
                role=window.role.value,  # type: ignore[arg-type]
                missed_points=round(100 * result.missed_by, 3),
                missed_n=round(result.missed_force, 3),
                at_m_s=None if result.missed_at is None else round(result.missed_at, 6),
            )
            for window, result in out.in_the_way
        ],
        "loosenings": [
            LooseningDocument(
                name=one.name,
                kind=one.kind.value,
                changes=one.changes,
                present_percent=round(100 * one.present, 6),
                percent=float(one.figure),
                typed=line(loosened(job, one)),
                proven=one.proven,
            )
            for one in out.loosenings
        ],
        "one_more_change": None if out.with_one_more is None else line(one_more),
        "more_say": [
            MoreSayDocument(
                band=one.band,
                stack=one.stack,
                share_percent=round(100 * one.share, 1),
                own_share_percent=round(100 * one.own_share, 1),
                typed=line(replace(job.variant, stack=one.stack)),
            )
            for one in out.more_say
        ],
    }
