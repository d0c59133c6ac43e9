"""From a complaint to shaft velocities by riding the event behind it, where the machine is known."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from damping_model.errors import ModelError
from damping_model.vehicle.spring import AirSpring, CoilSpring
from optimiser.errors import InputError
from optimiser.intake.bands import Stroke
from optimiser.intake.machine import AirPressure, Corner
from optimiser.intake.narrow import ByRide, EventAsked
from optimiser.jobs.job import Job
from optimiser.jobs.ride_machine import corner_to_ride, machine_to_ride, own_damper
from optimiser.model.percent import share_text
from optimiser.ride.energy_window import EnergyWindow
from optimiser.ride.events import RideEvent
from optimiser.ride.telling import told

TABLE: Final = "rides.toml"


@dataclass(frozen=True, slots=True)
class SimulatedBand:
    """What riding an event says of the velocities that a target should cover.

    Parameters
    ----------
    window : where the damper's energy goes.
    corner : whose.
    assumes : what the event rests on.
    """

    window: EnergyWindow
    corner: str
    assumes: str


def missing_for_ride(job: Job, corner: Corner) -> str | None:
    """The first figure of a machine without which a ride would be a guess; None where all are known."""
    if isinstance(corner.spring, AirPressure):
        return f"the air volume of the spring {corner.name} (area_mm2 and volume_cm3 in the machine's file)"
    if not isinstance(corner.spring, (CoilSpring, AirSpring)):
        return f"the spring {corner.name}"
    if not corner.unsprung_mass:
        return f"the unsprung mass {corner.name}"
    if job.machine.kind not in job.rides.usual:
        return f"a row for machines of kind '{job.machine.kind}' in {TABLE}"
    return None


def band_behind(job: Job) -> SimulatedBand | str | None:
    """The band of the event behind a job's symptom, by a ride.

    Returns
    -------
    SimulatedBand, or what is missing for a ride in words, or None where no event stands behind what is said.
    """
    words = job.asked.complaint.symptom
    if words is None or job.asked.targets or job.asked.event is not None:
        return None
    event = event_of_words(job, words)
    return None if event is None else _ridden(job, event, job.vocabulary.symptom(words).stroke)


def event_of_words(job: Job, words: str) -> RideEvent | None:
    """The event that stands behind a symptom on a job's kind of machine; None where none does."""
    behind = job.rides.behind_symptom(job.vocabulary.symptom(words).name)
    return None if behind is None else job.rides.event(behind.event, kind=job.machine.kind)


def event_behind(job: Job) -> RideEvent | None:
    """The event behind a complaint, named or in words, on a machine that is known; None elsewhere."""
    asked = job.asked
    if asked.event is not None:
        event = _as_event(asked.event)
    else:
        words = asked.complaint.symptom
        event = None if words is None else event_of_words(job, words)
    if event is None:
        return None
    try:
        return event if missing_for_ride(job, corner_to_ride(job)) is None else None
    except InputError:
        return None


def band_of_instant(job: Job, *, stroke: Stroke) -> SimulatedBand | str | None:
    """The band of the one instant that a job names, by a ride; as :func:`band_behind`.

    A bob and a range of wheel velocity are given as motions of the wheel: there is nothing to ride.
    """
    asked = job.asked.event
    if asked is None or job.asked.targets:
        return None
    event = _as_event(asked)
    return None if event is None else _ridden(job, event, stroke)


def band_advice(job: Job) -> str | None:
    """What a ride says of the band that a job's words give, in a sentence; None where no event stands behind.

    Numbers of the job win over the words: there is nothing to advise then.
    """
    found, complaint = band_behind(job), job.asked.complaint
    if found is None or complaint.symptom is None or complaint.low or complaint.high:
        return None
    band = job.vocabulary.bands[job.vocabulary.symptom(complaint.symptom).band]
    return advice_on_words(found, low=band.low, high=band.high)


def advice_on_words(found: SimulatedBand | str, *, low: float, high: float) -> str:
    """What a ride says of a band that words gave, in a sentence.

    Parameters
    ----------
    found : the band by a ride, or what is missing for one.
    low, high : the band that the words give. [m/s]
    """
    if isinstance(found, str):
        return (
            f"The velocities are those of the table of words; no ride was simulated, since {found} is not "
            "known."
        )
    window = found.window
    ridden = (
        f"Simulated on this machine, '{window.event}' has {share_text(window.share)} of the damper's work in "
        f"{window.stroke} from {window.low:.2g} to {window.high:.2g} m/s at the shaft ({found.corner}; "
        f"{found.assumes})"
    )
    if window.overlaps(low, high):
        return f"{ridden}. The band of the words, {low:.2g} to {high:.2g} m/s, meets that and was used."
    return (
        f"{ridden}, outside the band of the words, {low:.2g} to {high:.2g} m/s, which was used. To ask for "
        f"the simulated one: from_m_s = {window.low:.2g} and to_m_s = {window.high:.2g} under [complaint]."
    )


def instant_by_ride(job: Job) -> ByRide | None:
    """The velocities of the instant that a job names, as a ride has them; None where nothing is ridden."""
    complaint = job.asked.complaint
    stroke: Stroke = "compression"
    if complaint.symptom is not None:
        stroke = job.vocabulary.symptom(complaint.symptom).stroke
    found = band_of_instant(job, stroke=complaint.stroke or stroke)
    if found is None:
        return None
    if isinstance(found, str):
        return ByRide(f"{found} is not known")
    window = found.window
    return ByRide(
        f"seven tenths of the damper's work in {window.stroke} lie from {window.low:.2g} to "
        f"{window.high:.2g} m/s ({found.corner}; {found.assumes})",
        window.low,
        window.high,
        window.from_travel,
        window.to_travel,
    )


def _ridden(job: Job, event: RideEvent, stroke: Stroke) -> SimulatedBand | str:
    try:
        corner = corner_to_ride(job)
        missing = missing_for_ride(job, corner)
        if missing is not None:
            return missing
        machine = machine_to_ride(job, corner, own_damper(job, job.damper.damper), event)
        found = told(event, machine, bands=tuple(job.vocabulary.bands.values())).window(stroke)
    except (InputError, ModelError) as error:
        return f"a ride ({error})"
    if found is None or not found.low < found.high:
        return f"any work of the damper in {stroke}"
    return SimulatedBand(found, corner.name, event.assumes)


def _as_event(asked: EventAsked) -> RideEvent | None:
    """An instant of a job as an event that can be ridden; None where there is nothing to ride."""
    if asked.kind == "square edge":
        return RideEvent(
            name="square edge",
            kind="square edge",
            assumes="the axle runs on a circle about the edge, and the tyre gives way",
            height=asked.height,
            speed=asked.speed,
        )
    if asked.kind == "landing":
        return RideEvent(
            name="landing",
            kind="landing",
            assumes="a free fall of a rider who sits still",
            height=None if asked.height is None else asked.height * _square_of_cosine(asked.slope),
        )
    if asked.kind == "braking dive":
        return RideEvent(
            name="braking dive",
            kind="braking",
            wheels=2,
            assumes="half a cosine wave up and down again, held for 0.3 s",
            deceleration=asked.deceleration,
            rise=asked.rise_time,
            hold=0.3,
            release=asked.rise_time,
        )
    return None


def _square_of_cosine(angle: float) -> float:
    """Of a fall onto a slope, the height that gives the speed at right angles to it."""
    return math.cos(angle) ** 2
