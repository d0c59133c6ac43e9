"""What a command leaves behind for whoever typed it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol


@dataclass
class Seen:
    """Exit code, standard output, standard error."""

    code: int
    out: str
    err: str


class Typed(Protocol):
    """Types a command into a shop."""

    def __call__(self, *words: object) -> Seen: ...
