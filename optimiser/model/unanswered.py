"""What the model had no answer for: nothing that rests on it is proven."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from damping_model.stack.stack import Stack


@dataclass(frozen=True, slots=True)
class Unanswered:
    """Settings and stacks for which the model found no equilibrium.

    Parameters
    ----------
    settings : of the adjusters, at which the stack as it is has no answer.
    stacks : changed stacks that have none.
    """

    settings: tuple[int, ...] = ()
    stacks: tuple[Stack, ...] = ()

    def __add__(self, other: Unanswered) -> Unanswered:
        """Both together, each named once."""
        return Unanswered(
            tuple(dict.fromkeys((*self.settings, *other.settings))),
            tuple(dict.fromkeys((*self.stacks, *other.stacks))),
        )

    def __bool__(self) -> bool:
        """Whether anything had no answer."""
        return bool(self.settings or self.stacks)


ALL_ANSWERED: Final = Unanswered()
