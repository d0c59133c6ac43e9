"""Text that may come from a stranger, shown without doing anything to a terminal, a page or a drawing.

A name can hold the escape character, with which a terminal is told to move, to colour or to answer; or a
letter that turns the direction of what follows. Such characters are shown as marks.
"""

from __future__ import annotations

import re
from typing import Final

PICTURES: Final = {code: chr(0x2400 + code) for code in range(0x20) if chr(code) not in "\n\t"} | {
    0x7F: "\u2421"
}
"""ASCII's control characters and the pictures that Unicode has of them; line end and tab are text."""

_UNSEEN: Final = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ud800-\udfff]"
)
"""Control characters of both sets, line ends that are none of ours, turners of direction, half letters."""

OTHER: Final = "\ufffd"
"""Stands for what has no picture of its own."""


def printable(text: str) -> str:
    r"""The text with a mark in the place of every character that controls instead of being read.

    Examples
    --------
    >>> printable("\x1b[31mred")
    '␛[31mred'
    """
    return _UNSEEN.sub(lambda found: PICTURES.get(ord(found[0]), OTHER), text)


def printable_json(text: str) -> str:
    r"""JSON with such characters written as JSON writes them, ``\u009b``: programs read the same values."""
    return _UNSEEN.sub(lambda found: f"\\u{ord(found[0]):04x}", text)
