"""One part of an answer: its value, and whether it was measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Part:
    """A value for a file.

    Parameters
    ----------
    value : in the unit of its key.
    off : how far off it may be, where it was not measured; None where it was. [%]
    """

    value: Any
    off: float | None = None
