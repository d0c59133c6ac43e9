"""One search of a job as files in the shop's folder, so that a killed server loses nothing of it.

``searches/JOB/`` holds what was asked, how far it came, the plan, and a sheet for each candidate. What is
there says where the search stands; nothing else remembers it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import Any, Final

from optimiser.bench.wheel_kept import FILE as WHEEL_FILE
from optimiser.bench.wheel_kept import wheel_of
from optimiser.documents.plan import PlanDocument
from optimiser.documents.plan_reader import read_plan
from optimiser.documents.wheel import WheelDocument
from optimiser.errors import InputError
from optimiser.files.base import read_text
from optimiser.files.writing import write_whole

FOLDER: Final = "searches"
"""Beside the shop's jobs and dampers."""


class SearchState(Enum):
    """Where a search stands."""

    WAITING = "waiting"
    STOPPED = "stopped before it found anything"
    DONE = "done"
    FAILED = "failed"


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


class SearchFolder:
    """The files of one job's latest search.

    Parameters
    ----------
    shop : the shop's folder.
    job : the job's name.
    """

    def __init__(self, shop: Path, job: str) -> None:
        self.job = job
        self.path = shop / FOLDER / job

    @property
    def state(self) -> SearchState | None:
        """Where the search stands; None when none was asked for."""
        if not (self.path / "asked.json").is_file():
            return None
        if (self.path / "plan.json").is_file():
            return SearchState.DONE
        if (self.path / "fault.txt").is_file():
            return SearchState.FAILED
        return SearchState.STOPPED if self.stop_wanted else SearchState.WAITING

    @property
    def stop_wanted(self) -> bool:
        """Whether somebody asked for its end."""
        return (self.path / "stop").exists()

    def begin(self, asked: SearchAsked) -> None:
        """Write down what is asked, in place of the search before."""
        self.path.mkdir(parents=True, exist_ok=True)
        for old in sorted(self.path.iterdir()):
            if old.is_file():
                old.unlink()
        text = json.dumps({**_plain(asked), "format": "shimwright search 1"}, ensure_ascii=False, indent=1)
        write_whole(self.path / "asked.json", text + "\n")

    def asked(self) -> SearchAsked:
        """What was asked.

        Raises
        ------
        InputError
            When the file is none of this program's.
        """
        place = self.path / "asked.json"
        try:
            found = json.loads(read_text(place, what="search"))
            del found["format"]
            return SearchAsked(**{**found, "job": Path(found["job"])})
        except (ValueError, TypeError, KeyError):
            raise InputError(f"{place}: cannot be read. Search again; that writes it anew.") from None

    def stop(self) -> None:
        """Ask for its end; what stands is then its answer."""
        write_whole(self.path / "stop", "")

    def tell(self, words: str) -> None:
        """Write down how far it came."""
        write_whole(self.path / "progress.txt", words + "\n")

    @property
    def progress(self) -> str:
        """How far it came, in words; empty when nothing was said yet."""
        return self._text("progress.txt")

    def fail(self, words: str) -> None:
        """Write down why it gave no plan."""
        write_whole(self.path / "fault.txt", words + "\n")

    @property
    def fault(self) -> str:
        """Why it gave no plan; empty when it did."""
        return self._text("fault.txt")

    def keep(
        self,
        plan: PlanDocument,
        *,
        sheets: Mapping[int, str],
        drawn: Mapping[str, Any],
        wheel: WheelDocument | None = None,
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
            found: dict[str, Any] = json.loads(self._text("drawn.json") or "{}")
            return found
        return {}

    def wheel(self) -> WheelDocument | None:
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

    def _text(self, name: str) -> str:
        with suppress(OSError, UnicodeDecodeError):
            return (self.path / name).read_text(encoding="utf-8").strip()
        return ""


def seen_of(job: Path) -> str:
    """A fingerprint of what a job's file holds, by which a plan is known to be of what it says now."""
    with suppress(OSError):
        return hashlib.sha256(job.read_bytes()).hexdigest()
    return ""


def _plain(asked: SearchAsked) -> dict[str, Any]:
    return {
        "job": str(asked.job),
        "seconds": asked.seconds,
        "reason": asked.reason,
        "confidence": asked.confidence,
        "measured": asked.measured,
        "seen": asked.seen,
    }
