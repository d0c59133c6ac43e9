"""From the ladder of a planned job to what other programs read of it."""

from __future__ import annotations

from optimiser.documents.effort_step import EffortBandDocument, EffortStepDocument
from optimiser.documents.shims import changes_document, from_shelf
from optimiser.documents.sure import sure_document
from optimiser.jobs.ladder import Judged, LadderStep
from optimiser.jobs.planned import Planned


def step_document(planned: Planned, step: LadderStep) -> EffortStepDocument:
    """The document of one step of effort."""
    rung, best = step.rung, step.best
    return EffortStepDocument(
        number_of_changes=rung.changes,
        opens=" and ".join(best.opened(planned.mounted.name)) if rung.changes else None,
        hours=None if step.hours is None else round(step.hours, 2),
        in_range=rung.in_range,
        proven=rung.closed,
        adjusters=dict(planned.settings[best.setting]),
        changes=changes_document(best.all_changes),
        from_shelf=from_shelf(step.from_shelf),
        bands=[_band(one) for one in step.bands],
        aimed=None if best.aimed is None else round(best.aimed, 2),
        in_the_way=None if step.worst is None else step.worst[0].name,
        ways=[idea.way.words for idea in rung.ideas],
        sure=sure_document(planned.sure.of(best)),
    )


def _band(judged: Judged) -> EffortBandDocument:
    window, result = judged
    return EffortBandDocument.model_validate(
        {
            "name": window.name,
            "average_percent": round(100 * result.mean, 3),
            "least_percent": round(100 * result.least, 3),
            "most_percent": round(100 * result.most, 3),
            "verdict": result.verdict.value,
            "missed_by_points": round(100 * result.missed_by, 3),
            "missed_by_n": round(result.missed_force, 2),
            "missed_at_m_s": None if result.missed_at is None else round(result.missed_at, 4),
        }
    )
