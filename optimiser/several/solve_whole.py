"""The front door to a search over all open stacks of a damper at once."""

from __future__ import annotations

from optimiser.errors import InputError
from optimiser.model.damper_answer import DamperAnswer
from optimiser.model.open_stacks import DamperProblem
from optimiser.search import Control, Progress
from optimiser.search.warm_up import warm_up
from optimiser.several.shares import MOST_CHANGES
from optimiser.several.whole_search import WholeSearch


def solve_whole(
    problem: DamperProblem,
    *,
    most_changes: int,
    control: Control[Progress] | None = None,
    wanted: int = 10,
    setting: int | None = None,
    most_assemblies: int | None = None,
) -> DamperAnswer:
    """The fewest changes over all open stacks that meet a goal, and the proof that fewer will not do.

    Parameters
    ----------
    problem : the damper, the shelf and what is asked.
    most_changes : most shims out, in or swapped, in all stacks together.
    control : time limit, interruption, progress and cores; none of them when left out.
    wanted : how many candidates to list.
    setting : of the adjusters at which changed stacks are tried; when left out the present one, and another
        for what it spares.
    most_assemblies : that may be opened, those among them that are open anyway; when left out all of them.
        What is proven is proven of no more.

    Returns
    -------
    DamperAnswer
        Candidates with the fewest changes; of these, those that open fewest assemblies come first. Where some
        do with fewer assemblies, what takes more of them was not gone through.

    Raises
    ------
    InputError
        When a stack breaks a rule itself, the model has no answer for the damper as it is, or more changes
        are allowed than can be shared out.
    """
    if most_changes > MOST_CHANGES and len(problem.open_stacks) > 1:
        raise InputError(
            f"got {most_changes} changes over {len(problem.open_stacks)} stacks, expected at most "
            f"{MOST_CHANGES}. Allow fewer, or name the stack that may change."
        )
    warm_up()
    control = control or Control()
    search = WholeSearch(
        problem,
        most_changes=most_changes,
        control=control,
        wanted=wanted,
        setting=setting,
        most_assemblies=most_assemblies,
    )
    search.run()
    return search.tally.answer()
