"""A job's machine as it can ride: which corner the damper works, and the damper as a curve."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from damping_model.damper.curve import ForceCurve
from damping_model.damper.damper import Damper
from damping_model.damper.force import force_curve
from damping_model.errors import ConvergenceError, ModelError
from damping_model.ride.damping_curve import DampingCurve
from damping_model.stack.steel import SpringSteel
from optimiser.errors import InputError
from optimiser.intake.machine import Corner
from optimiser.intake.measured import as_measured, sag_of
from optimiser.intake.site import usual_sag
from optimiser.jobs.felt import corner_of
from optimiser.jobs.job import Job
from optimiser.ride.as_ridden import FRONT, AsRidden, OwnDamper, as_ridden
from optimiser.ride.events import RideEvent

AS_THE_DAMPER_STANDS: Final[Mapping[str, int]] = {}

SLOWEST: Final = 3e-3
"""Shaft velocity that the points of a curve begin at. [m/s]"""

FASTEST: Final = (8.0, 4.0, 2.0, 1.0)
"""Shaft velocities that a curve goes to: the first at which the damper can be computed. [m/s]"""

POINTS: Final = 22
"""Of a curve, in each stroke."""

USUAL_SAG: Final = 0.27
"""Share of the travel at ends of which no usual sag is known; common practice, no source. [-]"""


def corner_to_ride(job: Job) -> Corner:
    """The corner that the damper works.

    Raises
    ------
    InputError
        When the job does not tell.
    """
    corner = corner_of(job)
    if corner is not None:
        return corner
    fitting = job.machine.corners_worked_by(stroke=job.damper.stroke)
    if not fitting:  # a cartridge is often longer than the travel that it works over
        fitting = tuple(one for one in job.machine.corners if (one.end == FRONT) == job.damper.in_a_fork)
    if fitting and len({(one.end, one.travel) for one in fitting}) == 1:
        return fitting[0]  # the only one, or left and right alike
    names = ", ".join(f"'{one.name}'" for one in fitting or job.machine.corners)
    raise InputError(
        f"{job.path}: got no corner that the damper's stroke fits alone, expected one of {names}. "
        "Add corner under [complaint]."
    )


def machine_to_ride(job: Job, corner: Corner, damper: OwnDamper, event: RideEvent) -> AsRidden:
    """The job's machine with a damper, for an event; its spring and sag as they were measured."""
    measured = {values.name: values for values in job.basics.corners}
    values, sag = measured.get(corner.name), None
    as_it_is = corner
    if values is not None:
        as_it_is, sag = as_measured(corner, values), sag_of(corner, values)
    usual = usual_sag(job.machine, corner, job.ranges) or USUAL_SAG * corner.travel
    return as_ridden(
        job.machine,
        job.rider,
        as_it_is,
        damper=damper,
        usual=job.rides.usual_of(job.machine.kind),
        sag=sag or usual,
        sag_measured=sag is not None,
        both_ends=event.wheels == 2,
    )


def own_damper(job: Job, damper: Damper, clicks: Mapping[str, int] = AS_THE_DAMPER_STANDS) -> OwnDamper:
    """A damper as a ride needs it.

    Parameters
    ----------
    job : for the temperature of the oil.
    damper : as it is, or with another stack.
    clicks : of those clickers that do not stand where the damper says.

    Raises
    ------
    ModelError
        When it cannot be computed even at small velocities.
    """
    curve = _curve(job, damper, clicks)
    limits = [np.inf if np.isnan(limit) else float(limit) for limit in curve.cavitation]
    return OwnDamper(
        damping=DampingCurve.through(
            curve.velocities, curve.damping_force, promised=(float(limits[0]), float(limits[1]))
        ),
        gas_force=curve.gas_force,
        friction=damper.friction,
    )


def _curve(job: Job, damper: Damper, clicks: Mapping[str, int]) -> ForceCurve:
    """Forces up to the fastest velocity at which they can be computed; beyond they go straight on."""
    failed: ModelError | None = None
    for fastest in FASTEST:
        speeds = np.geomspace(SLOWEST, fastest, POINTS)
        try:
            return force_curve(
                damper,
                velocities=np.concatenate([-speeds[::-1], speeds]),
                temperature=job.work.temperature,
                clicks=clicks,
                steel=SpringSteel(),
            )
        except ModelError as error:
            failed = error
    raise failed or ConvergenceError(f"damper '{damper.name}' cannot be computed.")
