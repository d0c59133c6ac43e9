"""One search of a job: ``searches/JOB/`` holds what was asked, the plan, and a sheet for each candidate."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, ClassVar

from optimiser.bench.wheel_kept import FILE as WHEEL_FILE
from optimiser.bench.wheel_kept import wheel_of
from optimiser.bench.work_folder import WorkFolder, WorkKind
from optimiser.documents.plan import PlanDocument
from optimiser.documents.plan_reader import read_plan
from optimiser.documents.wheel import PlanWheelDocument
from optimiser.files.base import read_text
from optimiser.files.writing import write_whole


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchAsked:
    """What was asked of a search.

    Parameters
    ----------
    job : path of the job's file.
    seconds : end it after so long; None for the job's own or the usual. [s]
    reason : why to go on although the basics are out of range; None without.
    confidence : share of the dampers built like this that has to keep all limits; None without. [-]
    measured : whether shims are planned with as they measure.
    seen : what the job's file held.
    """

    job: Path
    seconds: float | None = None
    reason: str | None = None
    confidence: float | None = None
    measured: bool = False
    seen: str = ""


class SearchFolder(WorkFolder):
    """The files of one job's latest search.

    Parameters
    ----------
    shop : the shop's folder.
    job : the job's name.
    """

    RESULT: ClassVar[str] = "plan.json"

    def __init__(self, shop: Path, job: str) -> None:
        super().__init__(shop, WorkKind.SEARCH, job)

    def begin(self, asked: SearchAsked) -> None:
        """Write down what is asked, in place of the search before."""
        self.write_down({**asdict(asked), "job": str(asked.job)}, form="shimwright search 1")

    def asked(self) -> SearchAsked:
        """What was asked.

        Raises
        ------
        InputError
            When the file is none of this program's.
        """
        return self.as_asked(lambda found: SearchAsked(**{**found, "job": Path(found["job"])}))

    def keep(
        self,
        plan: PlanDocument,
        *,
        sheets: Mapping[int, str],
        drawn: Mapping[str, Any],
        wheel: PlanWheelDocument | None = None,
    ) -> None:
        """Keep what was found; the plan comes last, and with it the search is done.

        Parameters
        ----------
        plan : the whole answer.
        sheets : the page of the build sheet of each candidate, by its rank.
        drawn : what pages draw of it, as JSON has it.
        wheel : what the wheel does with it; None where nothing is listed.
        """
        for rank, sheet in sheets.items():
            write_whole(self.path / f"sheet-{rank}.html", sheet)
        write_whole(self.path / "drawn.json", json.dumps(drawn) + "\n")
        if wheel is not None:
            write_whole(self.path / WHEEL_FILE, wheel.model_dump_json() + "\n")
        write_whole(self.path / "plan.json", plan.model_dump_json(indent=1) + "\n")

    def plan(self) -> PlanDocument:
        """What was found.

        Raises
        ------
        InputError
            When there is nothing, or it cannot be read.
        """
        place = self.path / "plan.json"
        return read_plan(read_text(place, what="plan"), name=str(place))

    def drawn(self) -> dict[str, Any]:
        """What pages draw of it; empty where that cannot be read."""
        with suppress(ValueError):
            found: dict[str, Any] = json.loads(self.text("drawn.json") or "{}")
            return found
        return {}

    def wheel(self) -> PlanWheelDocument | None:
        """What the wheel does with it; None where that is not known, or cannot be read."""
        return wheel_of(self.path)

    def sheet(self, rank: int) -> str:
        """The page of a candidate's build sheet.

        Raises
        ------
        InputError
            When there is none.
        """
        return read_text(self.path / f"sheet-{rank}.html", what="build sheet")


def seen_of(job: Path) -> str:
    """A fingerprint of what a job's file holds, by which an answer is known to be of what it says now."""
    with suppress(OSError):
        return hashlib.sha256(job.read_bytes()).hexdigest()
    return ""
