"""What ``shimwright plan FOLDER --json`` writes: one entry a job, the same on any number of cores."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, Literal

from optimiser.documents.common import Document
from optimiser.documents.plan import StatusName
from optimiser.jobs.job_answer import JobAnswer, Outcome

FORMAT: Final = "shimwright plans 1"


class PlannedJobDocument(Document):
    """What became of one job."""

    job: str
    """Path of the job file."""
    title: str
    """As the job file has it; the file's name when it cannot be read or was not begun."""
    outcome: Outcome
    status: StatusName
    said: str
    """The answer in a sentence, or what is wrong with the files."""
    number_of_changes: int | None
    """Of the first candidate; null when nothing meets the goal."""
    proven: bool | None
    """Whether fewest, or impossible, is proven; null when nothing was searched."""
    sheet: str | None
    """Path of the build sheet that was written."""
    plan: str | None
    """Path of the whole answer, as ``shimwright plan JOB --json`` prints it."""


class PlansDocument(Document):
    """What became of every job in a folder."""

    format: Literal["shimwright plans 1"] = FORMAT
    folder: str
    jobs: list[PlannedJobDocument]
    """In the order of their names."""


def plans_document(folder: str, answers: Iterable[JobAnswer]) -> PlansDocument:
    """The document of a folder's jobs; times are left out, so that the same jobs give the same text."""
    return PlansDocument(
        folder=folder,
        jobs=[
            PlannedJobDocument.model_validate(
                {name: getattr(answer, name) for name in PlannedJobDocument.model_fields}
            )
            for answer in answers
        ],
    )
