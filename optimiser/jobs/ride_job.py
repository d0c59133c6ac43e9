"""A job's own machine ridden: with the damper as it is, and with what each step of effort makes of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from damping_model.damper.damper import Damper
from damping_model.errors import ModelError
from optimiser.errors import InputError
from optimiser.jobs.job import Job
from optimiser.jobs.ladder import LadderStep
from optimiser.jobs.ride_band import event_behind
from optimiser.jobs.ride_machine import corner_to_ride, machine_to_ride, own_damper
from optimiser.model.answer import Candidate
from optimiser.model.damper_description import with_stack
from optimiser.model.unmeasured import Unmeasured
from optimiser.ride.events import FeltLimits, FigureName, RideEvent
from optimiser.ride.telling import Told, told


@dataclass(frozen=True, slots=True)
class EventRidden:
    """One event with every damper.

    Parameters
    ----------
    event : which.
    end : of the machine that the damper works.
    before : with the damper as it is.
    after : with each step of effort.
    judged_by : the figure that says whether a change helped, where the event stands behind the complaint.
    """

    event: RideEvent
    end: str
    before: Told
    after: tuple[Told, ...]
    judged_by: FigureName | None = None


@dataclass(frozen=True, slots=True)
class RiddenStep:
    """What is built and ridden.

    Parameters
    ----------
    changes : of shims; 0 for clicks alone.
    built : the stacks and the clicks.
    """

    changes: int
    built: Candidate


@dataclass(frozen=True, slots=True)
class JobRide:
    """What the wheel does, before and after.

    Parameters
    ----------
    corner : whose.
    events : ridden.
    steps : of effort or candidates, as many as each event has rides after.
    felt : smaller differences are not felt.
    taken : figures of the machine that nobody measured.
    said : what else it rests on, in sentences.
    """

    corner: str
    events: tuple[EventRidden, ...]
    steps: tuple[RiddenStep, ...]
    felt: FeltLimits
    taken: tuple[Unmeasured, ...]
    said: tuple[str, ...]


def ride_job(
    job: Job,
    events: Sequence[RideEvent],
    *,
    steps: Sequence[RiddenStep] = (),
    stack_name: str = "",
    settings: Sequence[Mapping[str, int]] = (),
    before: Damper | None = None,
    going_on: Callable[[RideEvent], bool] = lambda _: True,
) -> JobRide:
    """Ride events on a job's machine.

    Parameters
    ----------
    job : whose machine, rider and damper.
    events : to be ridden.
    steps : to ride besides the damper as it is.
    stack_name : the stack that the steps change; others that a step changes have their names in it.
    settings : positions of the adjusters that a step names by number.
    before : the damper as it is, where the job's own already has other parts.
    going_on : asked before each event; once it says no, what is ridden by then is told.

    Raises
    ------
    InputError
        When the job does not tell which wheel, or the machine cannot ride.
    ModelError
        When a damper or a ride cannot be computed.
    """
    corner = corner_to_ride(job)
    damper = job.damper.damper
    dampers = [own_damper(job, before or damper)]
    for step in steps:
        built = with_stack(damper, stack_name, step.built.stack)
        for other in step.built.others:
            built = with_stack(built, other.name, other.stack)
        dampers.append(own_damper(job, built, settings[step.built.setting]))
    bands, words = tuple(job.vocabulary.bands.values()), job.asked.complaint.symptom
    behind = None if words is None else job.rides.behind_symptom(job.vocabulary.symptom(words).name)
    ridden = []
    taken: dict[str, Unmeasured] = {}
    said: dict[str, None] = {}
    for event in events:
        if not going_on(event):
            break
        machines = [machine_to_ride(job, corner, one, event) for one in dampers]
        rides = [told(event, machine, bands=bands) for machine in machines]
        figure = None if behind is None or behind.event != event.name else behind.figure
        ridden.append(EventRidden(event, corner.end, rides[0], tuple(rides[1:]), figure))
        taken |= {one.what: one for one in machines[0].taken}
        said |= dict.fromkeys(machines[0].said)
    return JobRide(
        corner.name, tuple(ridden), tuple(steps), job.rides.felt, tuple(taken.values()), tuple(said)
    )


def ride_behind(
    job: Job,
    *,
    ladder: Sequence[LadderStep],
    stack_name: str,
    settings: Sequence[Mapping[str, int]],
) -> JobRide | None:
    """The event behind a job's complaint, ridden; None where none stands behind it or figures are missing.

    Parameters
    ----------
    ladder : steps of effort to ride besides the damper as it is.
    job, stack_name, settings : as of :func:`ride_job`.
    """
    event = event_behind(job)
    if event is None:
        return None
    try:
        return ride_job(job, (event,), steps=steps_to_ride(ladder), stack_name=stack_name, settings=settings)
    except (InputError, ModelError):
        return None  # the reasons of the goal say what is missing


def steps_to_ride(ladder: Sequence[LadderStep]) -> tuple[RiddenStep, ...]:
    """Each step of effort at its best."""
    return tuple(RiddenStep(step.rung.changes, step.best) for step in ladder)
