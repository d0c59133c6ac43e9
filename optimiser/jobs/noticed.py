"""What is noticed about a job itself: words of advice that every answer carries, and that stop nothing."""

from __future__ import annotations

from collections.abc import Iterator

from damping_model.units import MILLIMETRE
from optimiser.intake.basics import BasicsFinding
from optimiser.intake.other_end import ANY, OtherEnd, other_end
from optimiser.jobs.job import Job
from optimiser.model.oddity import Oddity
from optimiser.model.unmeasured import unmeasured_words
from optimiser.ride.as_ridden import FRONT


def noticed_in(job: Job) -> tuple[BasicsFinding, ...]:
    """The words of advice: what the books know, what is unusual or not measured, another wheel or end."""
    elsewhere = other_end_of(job)
    oddities = tuple(_finding(oddity, job.damper.source) for oddity in job.damper.oddities)
    return (
        *job.noticed,
        *oddities,
        *_fitted(job),
        *_not_measured(job),
        *_fits_no_wheel(job),
        *(() if elsewhere is None else (elsewhere.finding,)),
    )


def _fitted(job: Job) -> Iterator[BasicsFinding]:
    """That figures of the damper come from its runs on a dyno, or would if the fit were not stale."""
    fit, file = job.damper.fitted, job.damper.source
    if fit is None:
        return
    if fit.stale:
        yield BasicsFinding(
            what="stale fit",
            got=f"a fit to {fit.from_runs}, and {fit.stale}",
            expected="a fit to the figures that the file has now",
            do_this=f"Fit it again: shimwright fit {file} RUNS --write.",
            why="Until then the plan uses the figures of the file.",
            stops=False,
        )
        return
    got = "; ".join(fit.moved) or "no figure that moved to speak of"
    runs_changed = f" {', '.join(fit.runs_changed)} changed since: fit it again." if fit.runs_changed else ""
    yield BasicsFinding(
        what="fitted figures",
        got=f"{got}, from {fit.from_runs}",
        expected="what the damper did on the dyno",
        do_this=f"To plan from {file} alone: shimwright fit {file} --forget.{runs_changed}",
        why=fit.against or "Forces are then those of the runs, not those of the file.",
        stops=False,
    )


def _not_measured(job: Job) -> Iterator[BasicsFinding]:
    """One finding a description: the figures of the damper, and of the machine, that are only usual ones."""
    for name, figures, why in (
        (
            job.damper.name,
            job.damper.not_measured,
            "Every force rests on them; the change from one stack to another does less.",
        ),
        (job.machine.name, job.machine.not_measured, "Sag, spring and what the wheel feels rest on them."),
    ):
        if figures:
            yield BasicsFinding(
                what="not measured",
                got=f"{unmeasured_words(figures)} of {name}",
                expected="figures from calipers, scale or gauge",
                do_this="Measure them when they can be reached, and write them into the file.",
                why=why,
                stops=False,
            )


def _finding(oddity: Oddity, source: str) -> BasicsFinding:
    return BasicsFinding(
        what=oddity.what,
        got=oddity.got,
        expected=oddity.expected,
        do_this=f"Look at it again in {source}.",
        why="Every force of the plan rests on the file.",
        stops=False,
    )


def _fits_no_wheel(job: Job) -> Iterator[BasicsFinding]:
    """That no wheel takes a shock's stroke, as where a job names the wrong file; cartridges may be longer."""
    machine, stroke = job.machine, job.damper.stroke
    if job.damper.in_a_fork or machine.corners_worked_by(stroke=stroke):
        return
    taken = (f"{one.name} {one.leverage.shaft_travel_end / MILLIMETRE:.3g} mm" for one in machine.corners)
    yield BasicsFinding(
        what="damper",
        got=f"a shock with a stroke of {stroke / MILLIMETRE:.3g} mm",
        expected=f"one that a wheel of {machine.name} takes: {', '.join(taken)}",
        do_this=f"Look at the damper and the bike that {job.path.name} names.",
        why="A plan for another machine's damper is no plan.",
        stops=False,
    )


def other_end_of(job: Job) -> OtherEnd | None:
    """The other end at which the job's complaint is felt; None when it is the damper's, or not known."""
    complaint, machine = job.asked.complaint, job.machine
    if complaint.corner is not None:
        felt = machine.corner(complaint.corner).end
    elif complaint.symptom is not None:
        felt = job.vocabulary.symptom(complaint.symptom).end
    else:
        felt = ANY
    sits = {corner.end for corner in machine.corners_worked_by(stroke=job.damper.stroke)}
    return other_end(felt, sits or ({FRONT} if job.damper.in_a_fork else ()))
