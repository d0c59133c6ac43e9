"""What is noticed about a job itself: words of advice that every answer carries, and that stop nothing."""

from __future__ import annotations

from optimiser.intake.basics import BasicsFinding
from optimiser.intake.other_end import ANY, OtherEnd, other_end
from optimiser.jobs.job import Job


def noticed_in(job: Job) -> tuple[BasicsFinding, ...]:
    """The words of advice: what the books know, and a complaint from another end of the machine."""
    elsewhere = other_end_of(job)
    return job.noticed if elsewhere is None else (*job.noticed, elsewhere.finding)


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
