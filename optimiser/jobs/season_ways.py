"""What may be built for a job when all that a catalogue sells lies on the shelf."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final, Literal

from optimiser.allocation.job_options import JobOption
from optimiser.errors import FaultError
from optimiser.intake.promise import BeyondPromiseError
from optimiser.jobs.job import Job
from optimiser.jobs.job_basics import basics_of
from optimiser.jobs.setup import JobSetup, set_up
from optimiser.jobs.whole_setup import opens_all, set_up_at_work, whole_problem
from optimiser.model.answer import Candidate, Status
from optimiser.model.certificate import candidate_faults
from optimiser.model.damper_answer import DamperCandidate
from optimiser.model.problem import Problem
from optimiser.model.stock import ShimKey, Stock
from optimiser.model.taken import taken_from
from optimiser.model.whole_certificate import whole_faults
from optimiser.search import Control, Progress, climb, solve, survey
from optimiser.several import solve_whole
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


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonCase:
    """What one stack is asked in a season.

    Parameters
    ----------
    problem : the question, with the shelf alone as its stock.
    afresh : the same asked of a model that remembers nothing, for whoever judges an answer.
    most_changes, from_scratch : as of a job's work.
    middle : setting of the adjusters that shims are chosen for; None for the present one.
    where : file, and line, for messages.
    """

    problem: Problem
    afresh: Callable[[], Problem]
    most_changes: int
    from_scratch: Literal["damper", "nothing"] | None = None
    middle: int | None = None
    where: str = ""


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
    job = replace(job, stock=Stock(shelf))
    try:
        if opens_all(job):
            job.damper.refuse_what_cannot_be_built()
            setup = set_up_at_work(job, gate=gate, record=())
            return _over_all_stacks(setup, sold=sold, control=control)
        setup = set_up(job, gate=gate)
    except BeyondPromiseError:
        return SeasonWays((), SeasonFinding.BOILS)
    middle = setup.physics.middle if setup.job.work.clickers_to_middle else None
    return ways_of(
        SeasonCase(
            problem=setup.problem,
            afresh=lambda: setup.problem_afresh,
            most_changes=setup.job.work.most_changes,
            from_scratch=setup.job.work.from_scratch,
            middle=middle,
            where=str(job.path),
        ),
        sold=sold,
        control=control,
    )


def ways_of(case: SeasonCase, *, sold: Sequence[ShimKey], control: Control[Progress]) -> SeasonWays:
    """Ways to a goal of one stack, as of :func:`season_ways`.

    Parameters
    ----------
    case : what is asked; its problem's stock is the shelf alone.
    sold, control : likewise.
    """
    problem = case.problem
    alone, _ = _met(case, problem, control.share(SHELF_SHARE))
    if free := [one for one in alone if not _taken(problem, one)]:
        # It takes no shim, so no other way serves a season better.
        _refuse_faults(case, problem, free)
        return SeasonWays(_options(problem, free), SeasonFinding.FOUND)
    shelf = problem.stock.counts
    plenty = {key: shelf.get(key, 0) + case.most_changes for key in sold}
    offered = replace(problem, stock=Stock({**shelf, **plenty}))
    more, status = _met(case, offered, control.share(1 - SHELF_SHARE))
    _refuse_faults(case, offered, (*alone, *more))
    return _found(_options(problem, (*alone, *more)), status)


def _found(options: tuple[JobOption, ...], status: Status) -> SeasonWays:
    if options:
        return SeasonWays(options, SeasonFinding.FOUND)
    impossible = status is Status.PROVEN_IMPOSSIBLE
    return SeasonWays((), SeasonFinding.OUT_OF_REACH if impossible else SeasonFinding.NOT_IN_TIME)


def _over_all_stacks(setup: JobSetup, *, sold: Sequence[ShimKey], control: Control[Progress]) -> SeasonWays:
    """The ways of a job that leaves all stacks of its damper open."""
    problem, most = whole_problem(setup), setup.job.work.most_changes
    shelf = problem.stock.counts
    plenty = {key: shelf.get(key, 0) + most for key in sold}
    met: list[DamperCandidate] = []
    status = Status.BEST_SO_FAR
    for stock, share in ((problem.stock, SHELF_SHARE), (Stock({**shelf, **plenty}), 1 - SHELF_SHARE)):
        posed = replace(problem, stock=stock)
        answer = solve_whole(
            posed,
            most_changes=most,
            control=control.share(share),
            wanted=WANTED,
            setting=setup.physics.middle if setup.job.work.clickers_to_middle else None,
        )
        if wrong := whole_faults(answer, posed):
            raise FaultError(f"{setup.job.path}", wrong)
        met += answer.candidates
        status = answer.status
        if any(not posed.taken(one.stacks) for one in answer.candidates):
            break
    best: dict[frozenset[tuple[ShimKey, int]], DamperCandidate] = {}
    for one in sorted(met, key=lambda one: (one.number_of_changes, one.target_error)):
        taken = {found.key: found.count for found in problem.taken(one.stacks)}
        best.setdefault(frozenset(taken.items()), one)
    options = tuple(
        JobOption(rank=rank, taken=dict(taken), changes=one.number_of_changes, miss=one.target_error)
        for rank, (taken, one) in enumerate(best.items(), 1)
    )
    return _found(options, status)


def _met(
    case: SeasonCase, problem: Problem, control: Control[Progress]
) -> tuple[tuple[Candidate, ...], Status]:
    """Everything that was found to meet the goal, twins too."""
    if case.from_scratch is not None:
        fitted = fit(problem, from_nothing=case.from_scratch == "nothing", control=control)
        return fitted.candidates, fitted.status
    known = survey(
        problem,
        most_changes=case.most_changes,
        setting=case.middle,
        control=control.share(SURVEY_SHARE),
    )
    answer = solve(
        problem,
        most_changes=case.most_changes,
        control=control.share(1 - SURVEY_SHARE),
        wanted=WANTED,
        settings=None if case.middle is None else (case.middle,),
        known=known,
        find_nearest=False,
    )
    answer, rungs = climb(problem, answer, known=known, wanted=WANTED)
    ideas = (idea for rung in rungs for idea in rung.ideas)
    return tuple(one for idea in ideas for one in idea.every), answer.status


def _options(problem: Problem, found: Sequence[Candidate]) -> tuple[JobOption, ...]:
    """One option for each set of shims that is taken: the one of the fewest changes, then the least miss."""
    best: dict[frozenset[tuple[ShimKey, int]], Candidate] = {}
    for one in sorted(found, key=lambda one: (len(one.changes), one.target_error)):
        best.setdefault(frozenset(_taken(problem, one).items()), one)
    return tuple(
        JobOption(rank=rank, taken=dict(taken), changes=len(one.changes), miss=one.target_error)
        for rank, (taken, one) in enumerate(best.items(), 1)
    )


def _taken(problem: Problem, one: Candidate) -> dict[ShimKey, int]:
    return {taken.key: taken.count for taken in taken_from(problem.stock, old=problem.stack, new=one.stack)}


def _refuse_faults(case: SeasonCase, offered: Problem, found: Sequence[Candidate]) -> None:
    """Judge every way again, as a plan's candidates are."""
    afresh = replace(offered, physics=case.afresh().physics)
    if case.from_scratch == "nothing":
        afresh = replace(afresh, goal=replace(afresh.goal, least_height=0.0))
    wrong = [words for one in found for words in _faults(one, afresh)]
    if wrong:
        raise FaultError(case.where, wrong)


def _faults(one: Candidate, problem: Problem) -> Iterator[str]:
    yield from candidate_faults(one, problem)
    if one.misfit > 0:
        yield "its forces leave the windows"
