"""How far each band can be moved with the others held, for each number of changes."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optimiser.errors import FaultError, InputError
from optimiser.model.answer import NO_EFFORT, Candidate, Effort, Status
from optimiser.model.certificate import FORCE_TOLERANCE, candidate_faults
from optimiser.model.goal import Role, Window, mean_change
from optimiser.model.objection import NONE_LEFT_OUT, LeftOut
from optimiser.model.unanswered import ALL_ANSWERED, Unanswered
from optimiser.search import Control, Explored, Problem, TreeProgress, explore
from optimiser.search.evaluator import Evaluator
from optimiser.search.objections import Objections
from optimiser.search.unchanged import at_every_setting
from optimiser.studies.farthest import (
    LEAST,
    MOST,
    FarthestShift,
    held_window,
    opened,
    sent_outwards,
    tolerance_of,
)


@dataclass(frozen=True, slots=True)
class End:
    """The stack that moves a band furthest to one side.

    Parameters
    ----------
    candidate : the stack, or the stack as it is at other clicks; judged by the windows that are held.
    shift : mean over the band of the change of its force, as a share of the force before. [-]
    proven : whether nothing that was allowed goes further.
    """

    candidate: Candidate
    shift: float
    proven: bool


@dataclass(frozen=True, slots=True)
class Extent:
    """How far a band can be moved with at most so many changes.

    Parameters
    ----------
    changes : of shims; 0 is clicks alone.
    least, most : the two ends; the stack as it is lies between them, or is one of them.
    """

    changes: int
    least: End
    most: End


@dataclass(frozen=True, slots=True)
class BandReach:
    """One band.

    Parameters
    ----------
    window : the band as it is held while another is moved.
    wanted : average shift that the job asks for, as a share of the force before; None for a held band. [-]
    extents : by number of changes, from 0 on.
    """

    window: Window
    wanted: float | None
    extents: tuple[Extent, ...]

    @property
    def tolerance(self) -> float:
        """How far the band may stray while another is moved, as a share of the force before. [-]"""
        return tolerance_of(self.window)


@dataclass(frozen=True, slots=True)
class Reach:
    """Every band of a job.

    Parameters
    ----------
    bands : in the order of the job.
    stopped : why something was left unproven: interrupted, or ended by the time limit; None when neither.
    effort : what it cost.
    left_out : stacks that go further and against which something else speaks.
    unanswered : what the model had no answer for.
    """

    bands: tuple[BandReach, ...]
    stopped: Status | None
    effort: Effort
    left_out: LeftOut = NONE_LEFT_OUT
    unanswered: Unanswered = ALL_ANSWERED

    @property
    def proven(self) -> bool:
        """Whether every end is proven."""
        ends = [end for band in self.bands for one in band.extents for end in (one.least, one.most)]
        return all(end.proven for end in ends)


@dataclass(frozen=True, slots=True)
class ReachProgress:
    """How far a computation has come.

    Parameters
    ----------
    band : name of the one that is being moved.
    changes : number of changes that is being searched.
    side : the least or the most.
    shift : furthest so far. [-]
    families_open, families_closed : families still to be looked at, and done with.
    """

    band: str
    changes: int
    side: int
    shift: float
    families_open: int
    families_closed: int


def reach(
    problem: Problem,
    *,
    bands: Sequence[int] | None = None,
    most_changes: int = 2,
    control: Control[ReachProgress] | None = None,
) -> Reach:
    """The least and the most average shift of each band, all other windows held, for each number of changes.

    Without a change every setting of the adjusters is tried; changed stacks are tried at the present setting.
    What fewer changes reach, more changes reach too.

    Parameters
    ----------
    problem : what is in the damper, what is on the shelf, and the job's goal; a target that is not being
        moved is held to its own tolerance about the force before.
    bands : which windows of the goal are moved, in turn; every target and held band when left out.
    most_changes : of shims.
    control : the time limit holds for each band and number of changes; ended early, what was found by then
        stands.

    Raises
    ------
    InputError
        When the stack in the damper breaks a rule itself, or the model has no answer for it.
    """
    goal, control = problem.goal, control or Control()
    bands = goal.moved if bands is None else bands
    held = replace(goal, windows=tuple(held_window(window) for window in goal.windows))
    found, explored = [], []
    for place in bands:
        extents = []
        for extent, explorations in _extents(replace(problem, goal=held), place, most_changes, control):
            extents.append(extent)
            explored += explorations
        found.append(BandReach(held.windows[place], _wanted(goal.windows[place]), tuple(extents)))
    _certify(replace(problem, goal=held), bands, found)
    stops = {one.stopped for one in explored} - {None}
    return Reach(
        bands=tuple(found),
        stopped=Status.INTERRUPTED if Status.INTERRUPTED in stops else next(iter(stops), None),
        effort=sum((one.effort for one in explored), NO_EFFORT),
        left_out=sum((one.left_out for one in explored), NONE_LEFT_OUT),
        unanswered=sum((one.unanswered for one in explored), ALL_ANSWERED),
    )


def _certify(held: Problem, places: Sequence[int], found: Sequence[BandReach]) -> None:
    """Judge every end again, by code that knows no search.

    Raises
    ------
    FaultError
        Naming what does not hold.
    """
    wrong = []
    for place, band in zip(places, found, strict=True):
        meanwhile = replace(held, goal=opened(held.goal, place))
        part = held.goal.parts[place][1]
        for extent in band.extents:
            for end in (extent.least, extent.most):
                about = f"'{band.window.name}' with {extent.changes} changes"
                wrong += [f"{about}: {words}" for words in candidate_faults(end.candidate, meanwhile)]
                shift = float(np.expm1(mean_change(band.window, np.array(end.candidate.forces)[part])))
                if abs(shift - end.shift) > FORCE_TOLERANCE:
                    wrong.append(f"{about}: it moves the band by {shift:.6%}, said {end.shift:.6%}")
                if len(end.candidate.changes) > extent.changes:
                    wrong.append(f"{about}: it takes {len(end.candidate.changes)}")
    if wrong:
        raise FaultError("reach", wrong)


def _extents(
    held: Problem, place: int, most_changes: int, control: Control[ReachProgress]
) -> Iterator[tuple[Extent, list[Explored]]]:
    """One band, one number of changes after another, each beginning from the best of the one before."""
    held_meanwhile = opened(held.goal, place)
    tried, silent, refused = _clicks(replace(held, goal=held_meanwhile))
    ends = {}
    for side in (LEAST, MOST):
        objective = FarthestShift(held_meanwhile, place=place, side=side, best=tried[0])
        for one in tried[1:]:
            if objective.accepts(np.asarray(one.forces)):
                objective.record(one)
        ends[side] = End(objective.best, objective.shift, not silent)
    clicks = Explored(None, not silent, NO_EFFORT, refused, Unanswered(silent))
    yield Extent(0, ends[LEAST], ends[MOST]), [clicks]
    for changes in range(1, most_changes + 1):
        explorations, begun = [], time.monotonic()
        for side, share in ((LEAST, 0.5), (MOST, 1.0)):
            limit = control.time_limit
            left = None if limit is None else max(begun + share * limit - time.monotonic(), 0.0)
            objective = FarthestShift(held_meanwhile, place=place, side=side, best=ends[side].candidate)
            explored = _outwards(
                replace(held, goal=sent_outwards(held.goal, place, side)),
                objective,
                place,
                changes,
                replace(control, time_limit=left),
            )
            explorations.append(explored)
            ends[side] = End(objective.best, objective.shift, explored.proven and not silent)
        yield Extent(changes, ends[LEAST], ends[MOST]), explorations


def _outwards(
    problem: Problem, objective: FarthestShift, place: int, changes: int, control: Control[ReachProgress]
) -> Explored:
    """Go through all stacks within a number of changes, the outermost first."""
    band = problem.goal.windows[place].name
    if control.stop_requested():
        return Explored(Status.INTERRUPTED, False, NO_EFFORT)

    def report(tree: TreeProgress) -> None:
        control.report(
            ReachProgress(
                band, changes, objective.side, objective.shift, tree.families_open, tree.families_closed
            )
        )

    return explore(problem, objective, most_changes=changes, control=control.reporting(report))


def _clicks(problem: Problem) -> tuple[list[Candidate], tuple[int, ...], LeftOut]:
    """The stack as it is, at the present setting first and then at every other that nothing speaks against.

    Beside them the settings at which the model has no answer, and how many were left out.
    """
    present, objections = problem.physics.setting, Objections(problem.physics)
    candidates, silent, _ = at_every_setting(Evaluator(problem.physics, cores=1), problem)
    if present in silent:
        raise InputError("The model finds no equilibrium for the stack in the damper. Check its dimensions.")
    candidates.sort(key=lambda one: one.setting != present)
    tried = [one for one in candidates if one.setting == present or objections.none_to(one)]
    return tried, silent, LeftOut.of(one.objection for one in objections.refused.values())


def _wanted(window: Window) -> float | None:
    if window.role is not Role.TARGET:
        return None
    if window.average is not None:
        return float(np.expm1(window.average.desired))
    return float(np.expm1(mean_change(window, np.array(window.desired))))
