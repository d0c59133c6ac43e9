"""A plan told about another of its stacks, for a candidate that leaves the plan's own as it is."""

from __future__ import annotations

from dataclasses import replace

from optimiser.jobs.planned import Planned
from optimiser.model.answer import Candidate


def about_one_that_changes(planned: Planned, candidate: Candidate) -> tuple[Planned, Candidate]:
    """The plan and the candidate with the first of the stacks that it changes as the plan's own.

    What is only known of the plan's stack, its stress and how surely it does what is promised, is left out.

    Parameters
    ----------
    planned : over several stacks.
    candidate : that leaves the plan's own stack as it is and changes others.
    """
    first, *others = candidate.others
    (mounted,) = (one for one in planned.job.damper.stacks if one.name == first.name)
    new = replace(candidate, stack=first.stack, changes=first.changes, others=tuple(others), place=first.name)
    answer = planned.answer
    if answer is not None:
        listed = tuple(new if one == candidate else one for one in answer.candidates)
        nearest = new if answer.nearest == candidate else answer.nearest
        answer = replace(answer, candidates=listed, nearest=nearest)
    return replace(planned, mounted=mounted, answer=answer, stress=None), new
