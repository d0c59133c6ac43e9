"""A variant of a job that its file knows nothing of, and how it is typed."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

PLAIN_NAME: Final = re.compile(r'[^"$`\\!]*')
"""What double quotes keep as it is in every usual shell."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """What is asked otherwise than the job's file says.

    Parameters
    ----------
    tolerances : of held bands and limits on the rest, by name, as shares of the force before. [-]
    shifts : of targets, by name, as shares of the force before, on average. [-]
    most_changes : most shims changed; None for the file's own.
    stack : which may change; None for the file's own.
    measured : whether shims that were measured are planned with as what they measure.
    confidence : share of the dampers built like this that has to keep all limits; None for no such wish. [-]
    as_found : whether the damper is the file's, whatever the ledger knows of it; read with the file.
    """

    tolerances: Mapping[str, float] = field(default_factory=dict)
    shifts: Mapping[str, float] = field(default_factory=dict)
    most_changes: int | None = None
    stack: str | None = None
    measured: bool = False
    confidence: float | None = None
    as_found: bool = False

    @property
    def options(self) -> Iterator[str]:
        """The options that ask for it, as they are typed."""
        for option, shares in (("--hold", self.tolerances), ("--ask", self.shifts)):
            for name, share in shares.items():
                yield f"{option} {quoted(f'{name}={100 * share:.12g}')}"
        if self.most_changes is not None:
            yield f"--changes {self.most_changes}"
        if self.stack is not None:
            yield f"--stack {quoted(self.stack)}"
        if self.measured:
            yield "--measured"
        if self.confidence is not None:
            yield f"--confidence {self.confidence:g}"
        if self.as_found:
            yield "--as-found"


AS_FILED: Final = Variant()
"""The job as its file has it."""


def command_line(command: str, job: Path, variant: Variant = AS_FILED, *, override: str | None = None) -> str:
    """What is typed for a variant of a job.

    Parameters
    ----------
    command : of the program.
    job : path of the job file.
    variant : of that job.
    override : why to go on although the basics are out of range; None where nothing has to be typed.
    """
    path = shlex.quote(str(job))
    reason = () if override is None else (f"--override {quoted(override)}",)
    return " ".join(("shimwright", command, path, *variant.options, *reason))


def quoted(text: str) -> str:
    """Text as one word of a command line."""
    return f'"{text}"' if PLAIN_NAME.fullmatch(text) else shlex.quote(text)
