"""From a planned job to its build sheet: names, curves before and after, what the figures rest on."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from itertools import islice
from typing import Final

import numpy as np

from damping_model.damper.curve import ForceCurve
from damping_model.damper.force import force_curve
from damping_model.stack.stack import Stack
from damping_model.stack.steel import SpringSteel
from optimiser.intake.brackets import adjusters_of
from optimiser.jobs.noticed import noticed_in
from optimiser.jobs.planned import Planned
from optimiser.jobs.ride_job import JobRide
from optimiser.model.answer import Candidate, Change
from optimiser.model.damper_description import DamperDescription, with_stack
from optimiser.model.goal import Goal, Role
from optimiser.report.confidence_text import confidence_words
from optimiser.report.curve_text import oil_words
from optimiser.report.finding import PlanFinding
from optimiser.report.findings_text import unchecked_words
from optimiser.report.ladder_text import LadderView, advice_text
from optimiser.report.measured_points import measured_points
from optimiser.report.other_stacks import other_stacks, stays_shut
from optimiser.report.part_text import part_lines
from optimiser.report.part_words import part_steps, parts_words
from optimiser.report.recentred import about_one_that_changes
from optimiser.report.service_facts import service_facts
from optimiser.report.sheet import AdjusterMove, BuildSheet, CurveLine, Heading, build_sheet
from optimiser.report.shelf_words import real_words
from optimiser.report.stack_to_build import Seating
from optimiser.report.steps import hole_of, steps
from optimiser.report.stress_words import stress_words
from optimiser.report.strokes import stroke_of
from optimiser.report.unanswered import unanswered_words
from optimiser.report.unit_system import UnitSystem
from optimiser.report.way_out_text import ways_out

FASTEST: Final = 2.0
"""Shaft velocity that curves are drawn to. [m/s]"""

VELOCITIES: Final = np.concatenate([-np.geomspace(0.01, FASTEST, 40)[::-1], np.geomspace(0.01, FASTEST, 40)])

MOST_WAYS_OUT: Final = 3
"""Lines about what would do: the terminal has all of them. [-]"""

WHAT_IT_RESTS_ON: Final = (
    (
        "A steady model: shims as plates that bend, shear and stretch in contact, oil through ports, "
        "curtain, bleed and leak. No hysteresis, no discrete ports, no rim that buckles, "
        "no friction between shims."
    ),
    (
        "Port areas, discharge coefficients, bleed and seat height of a real damper are never known well: "
        "the change from one stack to another is far better than either force."
    ),
)


def sheet_of(planned: Planned, candidate: Candidate) -> BuildSheet:
    """The build sheet for a candidate of a plan, or for its nearest.

    Raises
    ------
    ValueError
        When the plan stopped at the basics: there is nothing to build then.
    """
    if planned.asked is None or planned.answer is None:
        raise ValueError("a plan that stopped at the basics has no sheet")
    if candidate.others and not candidate.changes:
        return sheet_of(*about_one_that_changes(planned, candidate))
    job, mounted = planned.job, planned.mounted
    before, after = planned.settings[planned.setting], planned.settings[candidate.setting]
    return build_sheet(
        heading=Heading(
            title=job.title,
            shop=job.shop,
            rider=job.rider.name,
            bike=job.machine.name,
            damper=job.damper.name,
            valve=mounted.name,
            complaint=job.words,
            day=date.today(),
        ),
        answer=planned.answer,
        candidate=candidate,
        goal=planned.asked.goal,
        old_stack=_stack_before(planned),
        seating=Seating.of(mounted.path, bore_radius=mounted.mounting.bore_radius),
        adjusters=adjusters(planned, candidate),
        curves=(
            _line(planned.as_it_is, planned, "before", {}, before),
            _line(planned.job.damper, planned, "after", _built(planned, candidate), after),
        ),
        measured=_measured_before(planned),
        basis=(
            *(f"{one.what[0].upper()}{one.what[1:]}: {one.got}. {one.do_this}" for one in noticed_in(job)),
            *([] if (built := real_words(planned, candidate)) is None else [built]),
            *confidence_words(planned),
            *([] if planned.parts is None else part_lines(planned.parts, units=UnitSystem.METRIC)),
            *planned.advice,
            *planned.remarks,
            *([] if (unchecked := unchecked_words(planned.gate)) is None else [unchecked]),
            *unanswered_words(planned.answer.unanswered, settings=planned.settings, old=planned.old_stack),
            *_stress(planned, candidate),
            oil_words(job.damper.damper, temperature=job.work.temperature),
            *WHAT_IT_RESTS_ON,
            *planned.asked.reasons,
        ),
        gas_charged=job.damper.gas_charged,
        override_reason=planned.gate.override_reason,
        ladder=LadderView.of(planned),
        near_enough=candidate == planned.near_enough,
        ways_out=tuple(islice(ways_out(planned), MOST_WAYS_OUT)),
        service=service_facts(job, mounted, works_in=_works_in(planned.asked.goal)),
        taken=planned.taken(candidate),
        sure=planned.sure.of(candidate),
        parts=planned.part_changes,
        ride=_ridden(planned, candidate),
        others=tuple(other_stacks(planned, candidate)),
        stays_shut=stays_shut(planned, candidate),
    )


def _stack_before(planned: Planned) -> Stack:
    """The stack in the damper as it is now, with its own ring."""
    return planned.as_it_is.stack_named(planned.mounted.name, where="").stack


def _ridden(planned: Planned, candidate: Candidate) -> tuple[JobRide, int] | None:
    """The event behind the complaint, with the step of effort that the sheet builds."""
    if planned.ride is None:
        return None
    name = candidate.stack, candidate.setting
    built = (
        place for place, step in enumerate(planned.ladder) if (step.best.stack, step.best.setting) == name
    )
    place = next(built, None)
    return None if place is None else (planned.ride, place)


def _built(planned: Planned, candidate: Candidate) -> dict[str, Stack]:
    """Every stack that is to be built, by its place."""
    return {planned.mounted.name: candidate.stack, **{one.name: one.stack for one in candidate.others}}


def _measured_before(planned: Planned) -> list[CurveLine]:
    """What a dyno showed of the damper as it is, at the clicks that it has."""
    stands = {clicker.name: clicker.position for clicker in planned.job.damper.damper.clickers}
    points = measured_points(planned.job.runs, clicks=stands, fastest=float(VELOCITIES.max()))
    return [replace(one, name=f"before, {one.name}") for one in points]


def _works_in(goal: Goal) -> str:
    targets = [stroke_of(window) for window in goal.windows if window.role is Role.TARGET]
    return " and ".join(dict.fromkeys(targets))


def adjusters(planned: Planned, candidate: Candidate) -> tuple[AdjusterMove, ...]:
    """Every clicker of the damper, where it stood and where it is to stand."""
    after = planned.settings[candidate.setting]
    return tuple(
        AdjusterMove(
            name=adjuster.name,
            before=adjuster.at,
            after=after.get(adjuster.name, adjuster.at),
            most=adjuster.most,
        )
        for adjuster in adjusters_of(planned.job.damper.damper)
    )


def said(planned: Planned) -> str:
    """The answer in a sentence."""
    candidate = planned.shown
    if planned.answer is None:
        return planned.gate.first
    if candidate is None:
        return "Nothing was found in the time given; nothing is proven."
    near_enough = candidate == planned.near_enough
    parts = parts_words(planned.part_changes)
    return PlanFinding.of(planned.answer, candidate, near_enough=near_enough, parts=parts).sentence


def do_first(planned: Planned, *, units: UnitSystem) -> str | None:
    """Which step of effort to take, in a sentence; None where none is in range or near enough."""
    view = LadderView.of(planned)
    return None if view is None else advice_text(view, units=units)


def step_words(planned: Planned, candidate: Candidate) -> list[str]:
    """What a person does, in order, one sentence a step."""
    words = [*part_steps(planned.part_changes)]
    words += [
        f"{adjuster.name}: {adjuster.instruction}, to {adjuster.after} out"
        for adjuster in adjusters(planned, candidate)
        if adjuster.before != adjuster.after
    ]
    several = bool(candidate.others)
    words += _steps_of(candidate.changes, candidate.stack, planned.mounted.name if several else "")
    for one in candidate.others:
        words += _steps_of(one.changes, one.stack, one.name)
    return words


def _steps_of(changes: Sequence[Change], new: Stack, name: str) -> Iterator[str]:
    """What a person does with one stack; with its name where several change."""
    for step in steps(changes, hole=hole_of(new), new=new):
        out = f"take out {step.take_out}" if step.take_out else ""
        back = f"put in {step.put_in}" if step.put_in else ""
        yield f"{f'{name}: ' if name else ''}{', '.join(filter(None, (out, back)))}: {step.where}"


def curve_line(name: str, curve: ForceCurve) -> CurveLine:
    """A curve as drawings take it: damping forces, and where the promise ends."""
    limits = [limit for limit in curve.cavitation if math.isfinite(limit)]
    return CurveLine(
        name=name,
        velocities=tuple(float(v) for v in curve.velocities),
        forces=tuple(float(f) for f in curve.force_against_motion),
        promised_to=min(limits) if limits else None,
    )


def share_lines(curve: ForceCurve) -> list[CurveLine]:
    """What each valve contributes, as lines to add up."""
    against = np.where(curve.velocities < 0, -1.0, 1.0)
    return [
        CurveLine(
            name=name,
            velocities=tuple(float(v) for v in curve.velocities),
            forces=tuple(float(f) for f in against * share),
        )
        for name, share in zip(curve.valves, curve.shares, strict=True)
    ]


def _line(
    described: DamperDescription,
    planned: Planned,
    name: str,
    stacks: Mapping[str, Stack],
    clicks: Mapping[str, int],
) -> CurveLine:
    damper = described.damper
    for place, stack in stacks.items():
        damper = with_stack(damper, place, stack)
    curve = force_curve(
        damper,
        velocities=VELOCITIES,
        temperature=planned.job.work.temperature,
        clicks=clicks,
        steel=SpringSteel(),
    )
    return curve_line(name, curve)


def _stress(planned: Planned, candidate: Candidate) -> tuple[str, ...]:
    """What the shims bear, where it is known."""
    if planned.stress is None:
        return ()
    words = stress_words(planned.stress, candidate, old=planned.old_stack, units=UnitSystem.METRIC)
    return (words,)
