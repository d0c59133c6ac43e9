"""Something in a description that is unusual and may still be right: said, and stopping nothing."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Oddity:
    """An unusual value.

    Parameters
    ----------
    what : the field, and of what it is.
    got, expected : the value, and what is usual, in words.
    """

    what: str
    got: str
    expected: str
