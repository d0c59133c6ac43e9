"""A piece of work in the background as files in the shop's folder, so that a killed server loses none of it.

A folder holds what was asked, how far it came, and what came of it. What is there says where the work stands;
nothing else remembers it.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from contextlib import suppress
from enum import Enum
from pathlib import Path
from typing import Any, ClassVar, Final, TypeVar

from optimiser.errors import InputError
from optimiser.files.base import read_text
from optimiser.files.writing import write_whole

Asked = TypeVar("Asked")

PROGRESS: Final = "progress.txt"


class WorkKind(Enum):
    """What is worked on; the value is its folder in the shop's, beside the jobs and dampers."""

    SEARCH = "searches"
    REACH = "reaches"
    PURCHASE = "purchases"
    FIT = "fits"


class SearchState(Enum):
    """Where work stands."""

    WAITING = "waiting"
    STOPPED = "stopped before it found anything"
    DONE = "done"
    FAILED = "failed"


class WorkFolder:
    """The files of the latest work of a kind on one job.

    Parameters
    ----------
    shop : the shop's folder.
    kind : of work.
    name : of the job, or of the damper that is fitted.
    """

    RESULT: ClassVar[str] = "result.json"
    """The file that comes last; with it the work is done."""

    def __init__(self, shop: Path, kind: WorkKind, name: str) -> None:
        self.name = name
        self.path = shop / kind.value / name

    @property
    def state(self) -> SearchState | None:
        """Where the work stands; None when none was asked for."""
        if not (self.path / "asked.json").is_file():
            return None
        if (self.path / self.RESULT).is_file():
            return SearchState.DONE
        if (self.path / "fault.txt").is_file():
            return SearchState.FAILED
        return SearchState.STOPPED if self.stop_wanted else SearchState.WAITING

    @property
    def stop_wanted(self) -> bool:
        """Whether somebody asked for its end."""
        return (self.path / "stop").exists()

    def write_down(self, asked: Mapping[str, Any], *, form: str) -> None:
        """Write down what is asked, in place of the work before.

        Parameters
        ----------
        asked : as JSON has it.
        form : what the file is.
        """
        self.path.mkdir(parents=True, exist_ok=True)
        for old in sorted(self.path.iterdir()):
            if old.is_file():
                old.unlink()
        text = json.dumps({**asked, "format": form}, ensure_ascii=False, indent=1)
        write_whole(self.path / "asked.json", text + "\n")

    def as_asked(self, make: Callable[[dict[str, Any]], Asked]) -> Asked:
        """What was asked.

        Parameters
        ----------
        make : makes it of what JSON has.

        Raises
        ------
        InputError
            When the file is none of this program's.
        """
        place = self.path / "asked.json"
        try:
            found: dict[str, Any] = json.loads(read_text(place, what="search"))
            del found["format"]
            return make(found)
        except (ValueError, TypeError, KeyError, AttributeError):
            raise InputError(f"{place}: cannot be read. Search again; that writes it anew.") from None

    def stop(self) -> None:
        """Ask for its end; what stands is then its answer."""
        write_whole(self.path / "stop", "")

    def tell(self, words: str) -> None:
        """Write down how far it came."""
        write_whole(self.path / PROGRESS, words + "\n")

    @property
    def progress(self) -> str:
        """How far it came, in words; empty when nothing was said yet."""
        return self.text(PROGRESS)

    def fail(self, words: str) -> None:
        """Write down why nothing came of it."""
        write_whole(self.path / "fault.txt", words + "\n")

    @property
    def fault(self) -> str:
        """Why nothing came of it; empty when something did."""
        return self.text("fault.txt")

    def text(self, name: str) -> str:
        """What one of its files says; empty where there is none."""
        with suppress(OSError, UnicodeDecodeError):
            return (self.path / name).read_text(encoding="utf-8").strip()
        return ""
