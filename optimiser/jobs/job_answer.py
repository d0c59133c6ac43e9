"""What became of one job of many, as a small and plain value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Outcome = Literal[
    "basics first", "clicks", "shims", "parts", "near enough", "cannot be reached", "nothing found",
    "input cannot be used", "broken off", "not planned",
]  # fmt: skip
"""What became of a job: as for a single plan; or a bad file, a lost process, stopped before its turn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobAnswer:
    """What became of one job: small and plain, to be sent between processes and machines.

    Parameters
    ----------
    job : path of the job file.
    title : as the file has it; the file's name when it cannot be read.
    outcome : what to do, or why there is no answer.
    status : how far the answer may be trusted; "not searched" when there is none.
    said : the answer in a sentence, or the message about what is wrong.
    number_of_changes : of the first candidate; None when nothing meets the goal.
    proven : whether fewest or impossible is proven; None when nothing was searched.
    sheet, plan : paths of the build sheet and of the plan's document, where they were written.
    seconds : what it took, on the clock. [s]
    """

    job: str
    title: str
    outcome: Outcome
    status: str = "not searched"
    said: str
    number_of_changes: int | None = None
    proven: bool | None = None
    sheet: str | None = None
    plan: str | None = None
    seconds: float = 0.0
