"""What is known of a damper and its corner for whoever builds it: SI, before any of it is written."""

from __future__ import annotations

from dataclasses import dataclass

from damping_model.vehicle.spring import AirSpring, CoilSpring
from optimiser.intake.machine import AirPressure
from optimiser.intake.measured import as_measured, sag_of
from optimiser.intake.site import usual_sag
from optimiser.jobs.felt import corner_of
from optimiser.jobs.job import Job
from optimiser.model.assembly import NOTHING_WRITTEN, Assembly
from optimiser.model.damper_description import MountedStack


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceFacts:
    """What a sheet says beside the stack; None for what nobody knows.

    Parameters
    ----------
    number : of the job in the shop.
    works_in : the stroke that the stack works in.
    shaft_stroke : travel of the shaft. [m]
    oil : its name.
    viscosity : of the oil at the temperature of the figures. [m^2/s]
    temperature : of the figures. [K]
    gas_charged : whether the damper holds gas.
    gas_in_model : gauge pressure that the figures are computed with. [Pa]
    assembly : what the shop has written down.
    room : most height of the stack that leaves the nut its thread length. [m]
    corner : where the damper works.
    travel : of its wheel. [m]
    sag, usual : as wheel travel, measured and usual. [m]
    spring : what holds the corner up.
    """

    number: str = ""
    works_in: str = ""
    shaft_stroke: float
    oil: str
    viscosity: float
    temperature: float
    gas_charged: bool
    gas_in_model: float
    assembly: Assembly = NOTHING_WRITTEN
    room: float
    corner: str | None = None
    travel: float | None = None
    sag: float | None = None
    usual: float | None = None
    spring: CoilSpring | AirSpring | AirPressure | None = None


def service_facts(job: Job, mounted: MountedStack, *, works_in: str) -> ServiceFacts:
    """What a job's files know.

    Parameters
    ----------
    job : read and held against itself already.
    mounted : the stack that is worked on.
    works_in : the stroke that is to change, or both.
    """
    damper = job.damper.damper
    temperature = job.work.temperature or damper.temperature
    corner, sag, usual = corner_of(job), None, None
    if corner is not None:
        values = {values.name: values for values in job.basics.corners}.get(corner.name)
        if values is not None:
            corner, sag = as_measured(corner, values), sag_of(corner, values)
        usual = usual_sag(job.machine, corner, job.ranges)
    return ServiceFacts(
        number=job.number,
        works_in=works_in,
        shaft_stroke=job.damper.stroke,
        oil=damper.oil.name,
        viscosity=damper.oil.kinematic_viscosity(temperature=temperature),
        temperature=temperature,
        gas_charged=job.damper.gas_charged,
        gas_in_model=damper.gas_pressure,
        assembly=job.damper.assembly,
        room=mounted.mounting.most_height,
        corner=None if corner is None else corner.name,
        travel=None if corner is None else corner.travel,
        sag=sag,
        usual=usual,
        spring=None if corner is None else corner.spring,
    )
