"""Where a job's damping is felt: its corner, the spring as it is ridden, the sag as measured or usual."""

from __future__ import annotations

from optimiser.intake.felt import FeltPlace, felt_place
from optimiser.intake.machine import Corner
from optimiser.intake.measured import as_measured, sag_of
from optimiser.intake.site import usual_sag
from optimiser.jobs.job import Job
from optimiser.jobs.noticed import other_end_of


def felt_in(job: Job) -> FeltPlace | None:
    """The place for a job's damping ratios; None when corner, spring, mass or sag are not known."""
    machine = job.machine
    corner = corner_of(job)
    if corner is None:
        return None
    measured = {values.name: values for values in job.basics.corners}
    values = measured.get(corner.name)
    sag = None
    if values is not None:
        corner, sag = as_measured(corner, values), sag_of(corner, values)
    if sag is None:
        sag = usual_sag(machine, corner, job.ranges)
    return None if sag is None else felt_place(machine, job.rider, corner, sag=sag)


def corner_of(job: Job) -> Corner | None:
    """The corner that a job names, or the only one that its symptom or its damper's stroke fits."""
    complaint, known, machine = job.asked.complaint, job.known_feel, job.machine
    fitting = machine.corners_worked_by(stroke=job.damper.stroke)
    if other_end_of(job) is not None:  # the damper works where it sits, whatever is felt at the other end
        return fitting[0] if len(fitting) == 1 else None
    name = complaint.corner or (None if known is None else known.corner)
    if name is not None:
        return machine.corner(name)
    end = job.vocabulary.symptom(complaint.symptom).end if complaint.symptom else "either"
    at_end = [corner for corner in machine.corners if end in {"either", corner.end}]
    if len(at_end) == 1:
        return at_end[0]
    return fitting[0] if len(fitting) == 1 else None
