"""The main job, straight down: basics, goal, search."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from optimiser.files.job_reader import LoadedJob
from optimiser.files.mountings import stack_of
from optimiser.intake.own_record import StepTaken
from optimiser.jobs.felt import felt_in
from optimiser.jobs.planned import Planned
from optimiser.jobs.setup import Bench, basics_of, bench_for, open_section
from optimiser.model.answer import Answer
from optimiser.search import Progress, solve
from optimiser.studies.fineness import coarse_for
from optimiser.studies.from_scratch import fit
from optimiser.studies.single_changes import single_changes


def plan_job(
    loaded: LoadedJob,
    *,
    record: Sequence[StepTaken] = (),
    override_reason: str | None = None,
    time_limit: float | None = None,
    progress: Callable[[Progress], None] | None = None,
    should_stop: Callable[[], bool] | None = None,
    cores: int | None = None,
) -> Planned:
    """Plan a job.

    Parameters
    ----------
    loaded : what the files say.
    record : the shop's own steps, which set the first step for a symptom once enough of them helped.
    override_reason : why to go on although the basics are out of range; wins over the job's own.
    time_limit : give what stands after this long; wins over the job's own. [s]
    progress, should_stop, cores : as the search takes them.

    Raises
    ------
    InputError
        When the files contradict one another.
    ModelError
        When the damper cannot be computed.
    """
    section, gate = open_section(loaded), basics_of(loaded, override_reason=override_reason)
    if not gate.passed:
        return Planned(loaded=loaded, gate=gate, section=section, old_stack=stack_of(section))
    bench = bench_for(loaded, section=section, gate=gate, record=record)
    work, physics = loaded.job.work, bench.physics
    limit = time_limit or work.time_limit_s
    if work.from_scratch is not None:
        answer = fit(
            physics,
            stack=bench.stack,
            mounting=bench.mounting,
            stock=bench.stock,
            goal=bench.asked.goal,
            from_nothing=work.from_scratch == "nothing",
            time_limit=limit,
            should_stop=should_stop,
            progress=progress,
        )
    else:
        answer = solve(
            physics,
            stack=bench.stack,
            mounting=bench.mounting,
            stock=bench.stock,
            goal=bench.asked.goal,
            most_changes=work.most_changes,
            wanted=work.candidates,
            time_limit=limit,
            should_stop=should_stop,
            progress=progress,
            cores=cores,
            shim_settings=(physics.middle,) if work.clickers_to_middle else None,
        )
    return Planned(
        loaded=loaded,
        gate=bench.gate,
        section=section,
        old_stack=bench.stack,
        asked=bench.asked,
        settings=physics.settings,
        setting=physics.setting,
        answer=answer,
        felt_at=felt_in(loaded, bench.vocabulary),
        advice=_advice(answer, bench, should_stop),
    )


def _advice(answer: Answer, bench: Bench, should_stop: Callable[[], bool] | None) -> tuple[str, ...]:
    """What to do first when one change, and all that was allowed besides, are proven not to meet the goal."""
    if answer.candidates or answer.proven_too_few < 1:
        return ()
    grain = coarse_for(
        bench.asked.goal,
        stack=bench.stack,
        changed=single_changes(bench.stack, mounting=bench.mounting, stock=bench.stock),
        rough=bench.rough_forces,
        forces=bench.forces,
        should_stop=should_stop,
    )
    return () if grain is None else (grain.said,)
