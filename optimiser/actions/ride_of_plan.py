"""What the wheel does with everything that a plan lists: each step of effort and each candidate, ridden."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from optimiser.jobs.job import Job
from optimiser.jobs.planned import Planned
from optimiser.jobs.ride_band import event_behind
from optimiser.jobs.ride_job import JobRide, RiddenStep, ride_job, steps_to_ride
from optimiser.ride.events import RideEvent


@dataclass(frozen=True, slots=True)
class PlanRidden:
    """A plan, ridden.

    Parameters
    ----------
    ride : what the wheel does; each stack at its clicks is ridden once.
    rungs : for each step of effort the place of its ride among the steps of ``ride``.
    candidates : the same for each candidate, or for the nearest where there is none.
    """

    ride: JobRide
    rungs: tuple[int, ...]
    candidates: tuple[int, ...]


def events_to_ride(job: Job, names: Sequence[str] = ()) -> Sequence[RideEvent]:
    """The events of the table, the one behind the complaint first; or those that were named.

    Parameters
    ----------
    job : whose machine rides.
    names : of events; all when empty.

    Raises
    ------
    InputError
        When there is no event of such a name.
    """
    kind = job.machine.kind
    if names:
        return [job.rides.event(name, kind=kind) for name in names]
    events, behind = job.rides.events_on(kind), event_behind(job)
    return events if behind is None else [behind, *(event for event in events if event.name != behind.name)]


def ride_plan(planned: Planned, *, going_on: Callable[[RideEvent], bool] = lambda _: True) -> PlanRidden:
    """Ride everything that a plan lists.

    Parameters
    ----------
    planned : the plan.
    going_on : asked before each event; once it says no, what is ridden by then is told.

    Raises
    ------
    InputError
        When the job does not tell which wheel, or the machine cannot ride.
    ModelError
        When a damper or a ride cannot be computed.
    """
    shown = (
        () if planned.answer is None else planned.answer.candidates or tuple(filter(None, [planned.shown]))
    )
    rungs = steps_to_ride(planned.ladder)
    listed = tuple(RiddenStep(one.number_of_changes, one) for one in shown)
    distinct = {_built(step): step for step in (*listed, *rungs)}
    places = {built: place for place, built in enumerate(distinct)}
    ride = ride_job(
        planned.job,
        events_to_ride(planned.job),
        steps=tuple(distinct.values()),
        stack_name=planned.mounted.name,
        settings=planned.settings,
        before=planned.as_it_is.damper,
        going_on=going_on,
    )
    return PlanRidden(
        ride,
        rungs=tuple(places[_built(step)] for step in rungs),
        candidates=tuple(places[_built(step)] for step in listed),
    )


def _built(step: RiddenStep) -> tuple[object, ...]:
    one = step.built
    return one.stack, one.setting, tuple((other.name, other.stack) for other in one.others)
