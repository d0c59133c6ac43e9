"""Where a job's damping is felt: its corner, the spring as it is ridden, the sag as measured or usual."""

from __future__ import annotations

from damping_model.units import MILLIMETRE
from optimiser.files.basics_ranges_file import read_ranges
from optimiser.files.job_reader import LoadedJob
from optimiser.intake.complaint import Vocabulary
from optimiser.intake.felt import FeltPlace, felt_place
from optimiser.intake.machine import Corner, Machine
from optimiser.intake.measured import as_measured, sag_of
from optimiser.intake.site import usual_sag


def felt_in(loaded: LoadedJob, vocabulary: Vocabulary) -> FeltPlace | None:
    """The place for a job's damping ratios; None when corner, spring, mass or sag are not known."""
    machine = loaded.bike.machine()
    corner = _corner(loaded, vocabulary, machine)
    if corner is None:
        return None
    measured = {values.name: values for values in loaded.job.basics.values().corners}
    values = measured.get(corner.name)
    sag = None
    if values is not None:
        corner, sag = as_measured(corner, values), sag_of(corner, values)
    if sag is None:
        sag = usual_sag(machine, corner, read_ranges())
    return None if sag is None else felt_place(machine, loaded.rider.rider(), corner, sag=sag)


def _corner(loaded: LoadedJob, vocabulary: Vocabulary, machine: Machine) -> Corner | None:
    """The corner that a job names, or the only one that its symptom or its damper's stroke fits."""
    complaint, carry = loaded.job.complaint, loaded.job.carry
    name = complaint.corner or (None if carry is None else carry.corner)
    if name is not None:
        return machine.corner(name)
    end = vocabulary.symptom(complaint.symptom).end if complaint.symptom else "either"
    at_end = [corner for corner in machine.corners if end in {"either", corner.end}]
    if len(at_end) == 1:
        return at_end[0]
    fitting = machine.corners_worked_by(stroke=loaded.damper.stroke_mm * MILLIMETRE)
    return fitting[0] if len(fitting) == 1 else None
