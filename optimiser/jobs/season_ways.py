"""What may be built for a job when all that a catalogue sells lies on the shelf."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

from optimiser.allocation.job_options import JobOption
from optimiser.errors import FaultError
from optimiser.intake.promise import BeyondPromiseError
from optimiser.jobs.job import Job
from optimiser.jobs.job_basics import basics_of
from optimiser.jobs.setup import JobSetup, set_up
from optimiser.model.answer import Candidate, Status
from optimiser.model.certificate import candidate_faults
from optimiser.model.problem import Problem
from optimiser.model.stock import ShimKey, Stock
from optimiser.model.taken import taken_from
from optimiser.search import Control, Progress, climb, solve, survey
from optimiser.studies.from_scratch import fit

WANTED: Final = 40
"""Ways that a search lists for each shelf."""

SHELF_SHARE: Final = 0.4
"""Of a job's time, for what the shelf alone does. [-]"""

SURVEY_SHARE: Final = 0.3
"""Of a search's time, for different ways to the goal. [-]"""


class SeasonFinding(Enum):
    """What is known of a job's ways."""

    FOUND = "ways found"
    NOT_IN_TIME = "none found in the time given"
    OUT_OF_REACH = "proven out of reach of shelf and catalogue together"
    BASICS_FIRST = "basics first"
    BOILS = "oil would boil"


@dataclass(frozen=True, slots=True)
class SeasonWays:
    """The ways of a job.

    Parameters
    ----------
    options : those found, fewest changes first; no two take the same shims.
    finding : what is known of them.
    """

    options: tuple[JobOption, ...]
    finding: SeasonFinding

    @property
    def counted(self) -> bool:
        """Whether the job is one that shims are wanted for."""
        return self.finding not in {SeasonFinding.BASICS_FIRST, SeasonFinding.BOILS}


def season_ways(
    job: Job,
    *,
    shelf: Mapping[ShimKey, int],
    sold: Sequence[ShimKey],
    control: Control[Progress],
) -> SeasonWays:
    """Ways to a job's goal from the shelf alone, and from the shelf with any number of each type sold.

    They are those that two searches list, with every twin of theirs; that there are no others is not proven.

    Parameters
    ----------
    job : as its files have it.
    shelf : what is free.
    sold : types that can be bought.
    control : of the searches; its time limit is for both.

    Raises
    ------
    InputError
        When the job contradicts itself, names a stack that is not there, or one that cannot be built.
    FaultError
        When what was found does not hold as it is judged again.
    """
    gate = basics_of(job)
    if not gate.passed:
        return SeasonWays((), SeasonFinding.BASICS_FIRST)
    try:
        setup = set_up(replace(job, stock=Stock(shelf)), gate=gate)
    except BeyondPromiseError:
        return SeasonWays((), SeasonFinding.BOILS)
    alone, _ = _met(setup, setup.problem, control.share(SHELF_SHARE))
    if free := [one for one in alone if not _taken(setup, one)]:
        # It takes no shim, so no other way serves a season better.
        _refuse_faults(setup, setup.problem, free)
        return SeasonWays(_options(setup, free), SeasonFinding.FOUND)
    most = setup.job.work.most_changes
    plenty = {key: shelf.get(key, 0) + most for key in sold}
    offered = replace(setup.problem, stock=Stock({**shelf, **plenty}))
    more, status = _met(setup, offered, control.share(1 - SHELF_SHARE))
    _refuse_faults(setup, offered, (*alone, *more))
    options = _options(setup, (*alone, *more))
    if options:
        return SeasonWays(options, SeasonFinding.FOUND)
    impossible = status is Status.PROVEN_IMPOSSIBLE
    return SeasonWays((), SeasonFinding.OUT_OF_REACH if impossible else SeasonFinding.NOT_IN_TIME)


def _met(
    setup: JobSetup, problem: Problem, control: Control[Progress]
) -> tuple[tuple[Candidate, ...], Status]:
    """Everything that was found to meet the goal, twins too."""
    work, physics = setup.job.work, setup.physics
    if work.from_scratch is not None:
        fitted = fit(problem, from_nothing=work.from_scratch == "nothing", control=control)
        return fitted.candidates, fitted.status
    middle = physics.middle if work.clickers_to_middle else None
    known = survey(
        problem, most_changes=work.most_changes, setting=middle, control=control.share(SURVEY_SHARE)
    )
    answer = solve(
        problem,
        most_changes=work.most_changes,
        control=control.share(1 - SURVEY_SHARE),
        wanted=WANTED,
        settings=None if middle is None else (middle,),
        known=known,
        find_nearest=False,
    )
    answer, rungs = climb(problem, answer, known=known, wanted=WANTED)
    ideas = (idea for rung in rungs for idea in rung.ideas)
    return tuple(one for idea in ideas for one in idea.every), answer.status


def _options(setup: JobSetup, found: Sequence[Candidate]) -> tuple[JobOption, ...]:
    """One option for each set of shims that is taken: the one of the fewest changes, then the least miss."""
    best: dict[frozenset[tuple[ShimKey, int]], Candidate] = {}
    for one in sorted(found, key=lambda one: (len(one.changes), one.target_error)):
        best.setdefault(frozenset(_taken(setup, one).items()), one)
    return tuple(
        JobOption(rank=rank, taken=dict(taken), changes=len(one.changes), miss=one.target_error)
        for rank, (taken, one) in enumerate(best.items(), 1)
    )


def _taken(setup: JobSetup, one: Candidate) -> dict[ShimKey, int]:
    return {taken.key: taken.count for taken in taken_from(setup.stock, old=setup.stack, new=one.stack)}


def _refuse_faults(setup: JobSetup, offered: Problem, found: Sequence[Candidate]) -> None:
    """Judge every way again, as a plan's candidates are."""
    afresh = replace(offered, physics=setup.problem_afresh.physics)
    if setup.job.work.from_scratch == "nothing":
        afresh = replace(afresh, goal=replace(afresh.goal, least_height=0.0))
    wrong = [words for one in found for words in _faults(one, afresh)]
    if wrong:
        raise FaultError(f"{setup.job.path}", wrong)


def _faults(one: Candidate, problem: Problem) -> Iterator[str]:
    yield from candidate_faults(one, problem)
    if one.misfit > 0:
        yield "its forces leave the windows"
