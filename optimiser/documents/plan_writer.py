"""From a planned job to the document that other programs read."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Literal

from damping_model.stack.stack import Stack
from damping_model.units import BAR, MEGAPASCAL, MILLIMETRE
from optimiser.documents.common import EffortDocument, FindingDocument
from optimiser.documents.folded import folded_documents
from optimiser.documents.ladder_writer import step_document
from optimiser.documents.parts import parts_document
from optimiser.documents.plan import (
    BandDocument,
    CandidateDocument,
    CheckedDocument,
    FeltDocument,
    PlanDocument,
    StressDocument,
)
from optimiser.documents.ride import event_document
from optimiser.documents.shims import (
    changes_document,
    from_shelf,
    left_out_document,
    other_stacks,
    shim_document,
    unanswered_document,
)
from optimiser.documents.sure import confidence_document, sure_document
from optimiser.documents.way_out import way_out_keys
from optimiser.jobs.planned import Planned
from optimiser.model.answer import NO_EFFORT, Candidate
from optimiser.model.band_result import BandVerdict, band_result
from optimiser.model.checked import Checked
from optimiser.model.goal import Goal, Window
from optimiser.model.objection import NONE_LEFT_OUT, Objection
from optimiser.model.stress import StackStress, StressRule
from optimiser.model.unanswered import ALL_ANSWERED


def plan_document(
    planned: Planned,
    *,
    said: str,
    do_first: str | None,
    steps: Iterable[Iterable[str]],
    sheet: str | None,
    sheet_kept: str | None = None,
) -> PlanDocument:
    """The document of a planned job.

    Parameters
    ----------
    planned : the job and its answer.
    said : the answer in a sentence.
    do_first : which step of effort to take, in a sentence.
    steps : for each candidate, and then for the nearest if there is one, what a person does.
    sheet : path of the build sheet that was written.
    sheet_kept : path of a build's sheet that lies where that one would have gone.
    """
    answer, goal = planned.answer, planned.asked.goal if planned.asked else None
    documents, nearest, words = [], None, [list(step) for step in steps]
    if answer is not None and goal is not None:
        documents = [
            _candidate(planned, goal, candidate, rank, words[rank - 1])
            for rank, candidate in enumerate(answer.candidates, 1)
        ]
        if answer.nearest is not None:
            nearest = _candidate(planned, goal, answer.nearest, 1, words[-1])
    effort = NO_EFFORT if answer is None else answer.effort
    return PlanDocument.model_validate(
        {
            "job": planned.job.title,
            "damper": planned.job.damper.name,
            "stack_name": planned.mounted.name,
            "open_stacks": list(planned.open_stacks) or [planned.mounted.name],
            "outcome": planned.outcome,
            "status": "not searched" if answer is None else answer.status.value,
            "said": said,
            "measured": planned.job.variant.measured,
            "most_changes": planned.job.work.most_changes,
            "proven_too_few": -1 if answer is None else answer.proven_too_few,
            "findings": [
                FindingDocument(what=f.what, got=f.got, expected=f.expected, do_this=f.do_this, why=f.why)
                for f in planned.gate.findings
            ],
            "override_reason": planned.gate.override_reason,
            "ladder": [step_document(planned, step) for step in planned.ladder],
            "do_first": do_first,
            "stress_before": None
            if planned.stress is None
            else _stress(planned.stress.before, planned.old_stack, planned.stress.rule),
            "stress_reason": planned.job.work.stress.reason,
            "advice": list(planned.advice),
            "remarks": list(planned.remarks),
            **way_out_keys(planned),
            "confidence": confidence_document(planned.confidence),
            "parts": parts_document(planned),
            "ride": None if planned.ride is None else event_document(planned.ride, planned.ride.events[0]),
            "candidates": documents,
            "folded": folded_documents(planned),
            "nearest": nearest,
            "nearest_proven": answer is not None and answer.nearest_proven,
            "left_out": left_out_document(
                NONE_LEFT_OUT if answer is None else answer.left_out + answer.nearer_left_out
            ),
            "unanswered": unanswered_document(
                ALL_ANSWERED if answer is None else answer.unanswered, planned.settings
            ),
            "checked": _checked(None if answer is None else answer.checked),
            "effort": EffortDocument(
                physics_runs=effort.evaluations, families=effort.families, stacks_checked=effort.stacks
            ),
            "sheet": sheet,
            "sheet_kept": sheet_kept,
        }
    )


def _checked(checked: Checked | None) -> CheckedDocument | None:
    if checked is None:
        return None
    return CheckedDocument(
        drawn=checked.drawn,
        nearest_percent=None if checked.nearest is None else round(100 * checked.nearest, 4),
        margins_percent=None
        if checked.margins is None
        else [round(100 * margin, 3) for margin in checked.margins],
        reopened=checked.reopened,
        predicted=checked.predicted,
    )


def _candidate(
    planned: Planned, goal: Goal, candidate: Candidate, rank: int, steps: list[str]
) -> CandidateDocument:
    idea = planned.idea_of(candidate)
    return CandidateDocument(
        rank=rank,
        number_of_changes=candidate.number_of_changes,
        changes=changes_document(candidate.all_changes),
        steps=steps,
        stack=[shim_document(shim) for shim in candidate.stack.shims],
        height_mm=round(candidate.stack.height / MILLIMETRE, 4),
        height_change_mm=round((candidate.stack.height - planned.old_stack.height) / MILLIMETRE, 4),
        adjusters=dict(planned.settings[candidate.setting]),
        bands=list(_bands(goal, candidate)),
        felt=list(_felt(planned, candidate)),
        miss_percent=round(100 * candidate.target_error, 3),
        change_elsewhere_percent=round(100 * candidate.change_elsewhere, 3),
        from_shelf=from_shelf(planned.taken(candidate)),
        misfit=round(candidate.misfit, 4),
        best_at=list(candidate.best_at),
        stress=None
        if planned.stress is None
        else _stress(planned.stress.of(candidate), candidate.stack, planned.stress.rule),
        objection=_objection(candidate),
        aimed=None if candidate.aimed is None else round(candidate.aimed, 2),
        way=None if idea is None or candidate.others else idea.way.words,
        more_like_it=0 if idea is None else len(idea.twins),
        sure=sure_document(planned.sure.of(candidate)),
        others=other_stacks(candidate),
        stays_shut=list(planned.stays_shut(candidate)),
    )


def _objection(candidate: Candidate) -> Literal["oil would boil", "a shim would be overstressed"] | None:
    """What speaks against a nearest stack; a chance is asked only of stacks that meet the goal."""
    if candidate.objection is Objection.BOILS:
        return "oil would boil"
    return "a shim would be overstressed" if candidate.objection is Objection.OVERSTRESSED else None


def _stress(stress: StackStress | None, stack: Stack, rule: StressRule) -> StressDocument | None:
    if stress is None:
        return None
    worst = stress.worst
    return StressDocument(
        shim=worst.shim,
        type=shim_document(stack.shims[worst.shim - 1]),
        von_mises_mpa=round(worst.von_mises / MEGAPASCAL, 2),
        radius_mm=round(worst.radius / MILLIMETRE, 3),
        pressure_drop_bar=round(stress.pressure / BAR, 4),
        limit_mpa=rule.limit / MEGAPASCAL,
        within_limit=worst.von_mises <= rule.limit,
    )


def _felt(planned: Planned, candidate: Candidate) -> Iterable[FeltDocument]:
    place = planned.felt_at
    if place is None:
        return
    for one in planned.felt(candidate):
        yield FeltDocument(
            band=one.band,
            stroke=one.stroke,
            corner=place.corner,
            sag_mm=round(place.sag / MILLIMETRE, 2),
            wheel_velocity_m_s=round(one.wheel_velocity, 4),
            damping_ratio_before=round(one.before.damping_ratio, 4),
            damping_ratio_after=round(one.after.damping_ratio, 4),
            natural_frequency_hz=round(one.before.natural_frequency, 3),
        )


def _bands(goal: Goal, candidate: Candidate) -> Iterable[BandDocument]:
    for window, part in goal.parts:
        yield _band(window, candidate.forces[part])


def _band(window: Window, after: tuple[float, ...]) -> BandDocument:
    result = band_result(window, after)
    return BandDocument.model_validate(
        {
            "name": window.name,
            "role": window.role.value,
            "stroke": "compression" if window.velocities[0] > 0 else "rebound",
            "velocities_m_s": [round(abs(v), 6) for v in window.velocities],
            "before_n": _newtons(window.before),
            "least_n": _newtons(window.lower),
            "wanted_n": _newtons(window.desired),
            "most_n": _newtons(window.upper),
            "after_n": _newtons(after),
            "change_percent": [
                round(100 * (a / b - 1), 3) for a, b in zip(after, window.before, strict=True)
            ],
            "average_before_n": round(result.before, 3),
            "average_after_n": round(result.after, 3),
            "average_percent": round(100 * result.mean, 3),
            "average_least_percent": _percent(window, "lower"),
            "average_wanted_percent": _percent(window, "desired"),
            "average_most_percent": _percent(window, "upper"),
            "tightest_m_s": None if window.average else round(abs(window.velocities[result.tightest]), 6),
            "missed_by_percent": round(100 * result.missed_by, 3),
            "missed_at_m_s": None if result.missed_at is None else round(result.missed_at, 6),
            "within": result.verdict is BandVerdict.IN_RANGE,
            "verdict": result.verdict.value,
        }
    )


def _percent(window: Window, edge: Literal["lower", "desired", "upper"]) -> float | None:
    """One of the limits of an average; None where none is asked."""
    return None if window.average is None else round(100 * math.expm1(getattr(window.average, edge)), 3)


def _newtons(forces: Iterable[float]) -> list[float]:
    return [round(force, 3) for force in forces]
