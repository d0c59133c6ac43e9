"""Between a job and the ledger: what is entered, and what the shelf really has free."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from optimiser.files.part_in_file import value_of
from optimiser.intake.basics import BasicsFinding
from optimiser.jobs.job import Job
from optimiser.ledger.builds import last_done, open_build
from optimiser.ledger.connection import Ledger
from optimiser.ledger.jobs import JobRecord, file_lines
from optimiser.ledger.levels import shelf_levels
from optimiser.ledger.measured_builds import measured_builds
from optimiser.ledger.part_states import PartState, part_words
from optimiser.ledger.part_swaps import value_json
from optimiser.ledger.present_stacks import how_it_came, present_parts, present_stacks
from optimiser.model.edits import stack_of
from optimiser.model.other_parts import PartChange, PartKind, with_parts
from optimiser.model.stock import ShimKey, Stock
from optimiser.spread.measured_record import measured_record
from optimiser.unknowns.real_thicknesses import same_steel, stacks_in, told_only
from optimiser.unknowns.unknown import Owner

OWN_BUILD: Final = "build of this job"
"""What is found about a job of which a candidate is reserved or built."""


def job_record(job: Job) -> JobRecord:
    """What the ledger keeps of a job."""
    return JobRecord(
        name=job.path.stem,
        title=job.title,
        words=job.words,
        rider=job.rider.name,
        rider_mass=job.rider.mass,
        machine=job.machine.name,
        damper=job.damper.name,
        stacks={
            mounted.name: tuple(ShimKey.of(shim) for shim in mounted.stack.shims)
            for mounted in job.damper.stacks
        },
        parts=job.damper.filed,
    )


def with_free_shelf(job: Job, ledger: Ledger) -> Job:
    """The same job, planned from what the ledger has free instead of from the shelf file.

    What is reserved for this very job is free to it, and that is noticed. How far the model is wrong about a
    change is taken from the shop's measured builds, once there are any.
    """
    record = measured_record([one.bands for one in measured_builds(ledger)])
    if record is not None:
        job = replace(job, model_uncertainty=record.uncertainty)
    levels = shelf_levels(ledger)
    free = {level.key: level.free for level in levels}
    readings = {level.key: level.readings for level in levels if level.readings}
    drawers = {level.key: level.drawer for level in levels if level.drawer}
    stock = Stock(free, drawers=drawers, readings=readings)
    standing = open_build(ledger, job.path.stem)
    if standing is None:
        return replace(job, stock=stock, noticed=(*job.noticed, *_done_before(job, ledger)))
    for key, count in standing.taken.items():
        free[key] = free.get(key, 0) + count
        # What its own shims measure is known to it as it was before they were reserved.
        if read := standing.readings_taken.get(key):
            readings[key] = tuple(sorted((*readings.get(key, ()), *read)))
    notice = BasicsFinding(
        what=OWN_BUILD,
        got=f"candidate {standing.pick} reserved and not built",
        expected="one build at a time",
        do_this=f"Finish it with 'shimwright done {standing.job}', or put it back with 'shimwright release "
        f"{standing.job}', before another is built.",
        why="What is reserved for it counts as free here.",
        stops=False,
    )
    return replace(job, stock=stock, noticed=(*job.noticed, notice))


def _done_before(job: Job, ledger: Ledger) -> tuple[BasicsFinding, ...]:
    """A word where the job's own build is what is in the damper: it would be done a second time."""
    built = last_done(ledger, job.path.stem)
    if built is None or not built.stacks.items() <= job_record(job).stacks.items():
        return ()
    notice = BasicsFinding(
        what=OWN_BUILD,
        got=f"candidate {built.pick}, in the damper now",
        expected="a job that is not done yet",
        do_this="What the job asks counts from there, on top of it. If the rider wants no more, there is "
        f"nothing to do; 'shimwright outcome {built.job} WORDS' writes down what the ride showed.",
        why="A shift in percent is a shift from what is in the damper.",
        stops=False,
    )
    return (notice,)


def as_it_is_now(job: Job, ledger: Ledger) -> Job:
    """The same job with the damper's stacks as the ledger last knew them, where its file lists older ones."""
    for state in present_stacks(ledger, job_record(job)):
        notice = BasicsFinding(
            what=f"stack '{state.stack_name}' in the damper file",
            got="an earlier one",
            expected="the one in the damper now",
            do_this=f"The stack is taken as {how_it_came(state)}. Write it into {job.damper.source}: "
            f"{file_lines(state.stack)}.",
            why="If somebody put the old one back, say --as-found.",
            stops=False,
        )
        damper = job.damper.with_stack(state.stack_name, stack_of(state.stack))
        kept = same_steel(stacks_in(job.damper.damper), stacks_in(damper.damper))
        damper = damper.with_damper(told_only(damper.damper, kept))
        known = None if job.knowledge is None else job.knowledge.forgetting(Owner.SHIMS_INSIDE, but=kept)
        job = replace(job, damper=damper, knowledge=known, noticed=(*job.noticed, notice))
    for part in present_parts(ledger, job_record(job)):
        job = _with_part(job, part)
    return job


def _with_part(job: Job, part: PartState) -> Job:
    """The same job with a part of the damper as the ledger last knew it."""
    kind, damper = PartKind(part.kind), job.damper
    to = value_of(kind, part.value, density_15=damper.damper.oil.density_15)
    change = PartChange(kind=kind, name=part.name, was=to, to=to, time=0.0)
    notice = BasicsFinding(
        what=f"{part_words(part.kind, part.name)} in the damper file",
        got="an earlier one",
        expected="the one in the damper now",
        do_this=f"It is taken as the shop's last build left it. Write it into {damper.source}: "
        f"{value_json(part.value)}.",
        why="If somebody put the old one back, say --as-found.",
        stops=False,
    )
    described = replace(
        with_parts(damper, (change,)), filed={**damper.filed, (part.kind, part.name): part.value}
    )
    owner = Owner.OIL if kind is PartKind.OIL else Owner.DAMPER if kind is PartKind.GAS else part.name
    known = None if job.knowledge is None else job.knowledge.forgetting(owner)
    return replace(job, damper=described, knowledge=known, noticed=(*job.noticed, notice))
