"""What the model had no answer for, by name: a proof does not reach it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from damping_model.stack.stack import Stack
from optimiser.model.edits import changes_between
from optimiser.model.unanswered import Unanswered
from optimiser.report.candidates import steps_text
from optimiser.report.steps import hole_of

NAMED: Final = 4
"""Settings and stacks that are named one by one; the rest are counted. [-]"""


def unanswered_words(
    unanswered: Unanswered, *, settings: Sequence[Mapping[str, int]], old: Stack
) -> tuple[str, ...]:
    """What had no answer in a sentence, with what it means and what to check; empty when all was answered.

    Parameters
    ----------
    unanswered : what had no answer.
    settings : positions of the adjusters, by number.
    old : the stack as it is, from which others differ.
    """
    names = _names(unanswered, settings=settings, old=old)
    if not names:
        return ()
    more = f"; and {len(names) - NAMED} more" if len(names) > NAMED else ""
    rests = "it" if len(names) == 1 else "them"
    words = (
        f"The model finds no answer for: {'; '.join(names[:NAMED])}{more}. Nothing that rests on {rests} is "
        "called proven. Check the sizes in the damper file; what is listed is answered and stands."
    )
    return (words,)


def _names(unanswered: Unanswered, *, settings: Sequence[Mapping[str, int]], old: Stack) -> tuple[str, ...]:
    """Each setting and each stack in words."""
    hole = hole_of(old)
    clicks = (
        ", ".join(f"{name} {at} out" for name, at in settings[number].items()) or "the present clicks"
        for number in unanswered.settings
    )
    return (
        *(f"the stack as it is at {words}" for words in clicks),
        *(steps_text(changes_between(old, stack), hole=hole) for stack in unanswered.stacks),
    )
