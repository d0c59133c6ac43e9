"""What is noticed about a job itself: words of advice that every answer carries, and that stop nothing."""

from __future__ import annotations

from optimiser.intake.basics import BasicsFinding
from optimiser.intake.other_end import ANY, OtherEnd, other_end
from optimiser.jobs.job import Job
from optimiser.model.oddity import Oddity


def noticed_in(job: Job) -> tuple[BasicsFinding, ...]:
    """The words of advice: what the books know, what is unusual, a complaint from another end."""
    elsewhere = other_end_of(job)
    oddities = tuple(_finding(oddity, job.damper.source) for oddity in job.damper.oddities)
    return (*job.noticed, *oddities, *(() if elsewhere is None else (elsewhere.finding,)))


def _finding(oddity: Oddity, source: str) -> BasicsFinding:
    return BasicsFinding(
        what=oddity.what,
        got=oddity.got,
        expected=oddity.expected,
        do_this=f"Look at it again in {source}.",
        why="Every force of the plan rests on the file.",
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
    return other_end(felt, {corner.end for corner in machine.corners_worked_by(stroke=job.damper.stroke)})
