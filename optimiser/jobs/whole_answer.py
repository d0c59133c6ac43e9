"""Stacks of a damper as candidates for one of them, with what changes in others beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from optimiser.jobs.setup import JobSetup
from optimiser.model.answer import Answer, Candidate, ChangedToo
from optimiser.model.damper_answer import DamperAnswer, DamperCandidate
from optimiser.model.open_stacks import DamperProblem
from optimiser.model.rank import with_reasons
from optimiser.model.ways import way_of


def as_answer(found: DamperAnswer, problem: DamperProblem, setup: JobSetup) -> Answer:
    """An answer about a damper as one about the stack of a set-up."""
    candidates = with_reasons([as_candidate(one, problem, setup) for one in found.candidates])
    return Answer(
        status=found.status,
        candidates=candidates,
        proven_too_few=found.proven_too_few,
        most_changes=found.most_changes,
        nearest=None if found.nearest is None else as_candidate(found.nearest, problem, setup),
        nearest_proven=False,
        effort=found.effort,
        closest_proven=found.closest_proven,
        clicks_kept=len(problem.settings) > 1,
        turned_from=problem.setting,
        left_out=found.left_out,
        checked=found.checked,
    )


def folded_together(
    candidates: Sequence[DamperCandidate], problem: DamperProblem
) -> tuple[tuple[DamperCandidate, ...], ...]:
    """Candidates that do their work in the same places of the same stacks together, by the first of each."""
    ideas: dict[tuple[object, ...], list[DamperCandidate]] = {}
    for one in candidates:
        each = zip(one.changes, problem.present, strict=True)
        ways = tuple(way_of(changes, old=old, clicks=False) for changes, old in each)
        ideas.setdefault((one.number_of_changes, one.setting, ways), []).append(one)
    return tuple(map(tuple, ideas.values()))


def as_candidate(one: DamperCandidate, problem: DamperProblem, setup: JobSetup) -> Candidate:
    """Stacks of a damper as a candidate for the stack of a set-up."""
    own = [place.name for place in problem.open_stacks].index(setup.mounted.name)
    return Candidate(
        stack=one.stacks[own],
        setting=one.setting,
        changes=one.changes[own],
        forces=one.forces,
        misfit=one.misfit,
        target_error=one.target_error,
        change_elsewhere=one.change_elsewhere,
        scarcity=one.scarcity,
        aimed=one.aimed,
        others=tuple(
            ChangedToo(problem.open_stacks[place].name, one.stacks[place], one.changes[place])
            for place in one.changed
            if place != own
        ),
        place=problem.open_stacks[own].name,
    )


def of_one_stack(one: Candidate, name: str, setup: JobSetup) -> Candidate:
    """A candidate of one stack alone as a candidate for the stack of a set-up.

    Parameters
    ----------
    one : what a search of that stack found.
    name : of that stack.
    setup : of the job, for any stack of the damper.
    """
    if name == setup.mounted.name:
        return replace(one, place=name)
    changed = (ChangedToo(name, one.stack, one.changes),) if one.changes else ()
    return replace(one, stack=setup.stack, changes=(), others=changed, place=setup.mounted.name)
