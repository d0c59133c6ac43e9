"""A study of a job in the background: how far its bands go, or what to buy for it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path

from optimiser.bench.work_folder import WorkFolder
from optimiser.files.base import read_text
from optimiser.files.writing import write_whole


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyAsked:
    """What was asked of a study.

    Parameters
    ----------
    job : path of the job's file.
    most : changes of a reach, or types to buy together.
    seconds : end it after about so long. [s]
    catalogue : path of what can be bought; empty for a reach.
    seen : what the job's file held.
    """

    job: Path
    most: int
    seconds: float
    catalogue: str = ""
    seen: str = ""


class StudyFolder(WorkFolder):
    """The files of one job's latest study of a kind."""

    def begin(self, asked: StudyAsked) -> None:
        """Write down what is asked, in place of the study before."""
        self.write_down({**asdict(asked), "job": str(asked.job)}, form="shimwright study 1")

    def asked(self) -> StudyAsked:
        """What was asked.

        Raises
        ------
        InputError
            When the file is none of this program's.
        """
        return self.as_asked(lambda found: StudyAsked(**{**found, "job": Path(found["job"])}))

    def keep(self, result: str) -> None:
        """Keep what came of it, as JSON has it."""
        write_whole(self.path / self.RESULT, result + "\n")

    def result(self) -> str:
        """What came of it, as JSON has it.

        Raises
        ------
        InputError
            When there is nothing.
        """
        return read_text(self.path / self.RESULT, what="study")
