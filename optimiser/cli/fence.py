"""The last fence: a fault of the program that nothing caught becomes one sentence and a report to send in."""

from __future__ import annotations

import os
import platform
import shlex
import tempfile
import traceback
from collections.abc import Sequence
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

FAULT: Final = 5
"""Exit code of a fault of the program."""

LIBRARIES: Final = ("shimwright", "numpy", "scipy", "numba", "pydantic", "click", "rich", "matplotlib")


def fault_said(error: BaseException, typed: Sequence[str]) -> str:
    """What a user is told of a fault, after a report of it was written.

    Parameters
    ----------
    error : what was raised.
    typed : the command as it was typed, for the report.
    """
    report = _written(report_of(error, typed))
    place = (
        "The report could not be written anywhere"
        if report is None
        else f"The report is in {report}: read it, take out what is nobody's business, and send it in"
    )
    return (
        f"A fault in shimwright, and not in your files, ended this command ({type(error).__name__}). "
        f"{place}. 'shimwright check' says how the ledger stands."
    )


def report_of(error: BaseException, typed: Sequence[str]) -> str:
    """A report: when, what was typed, with which versions, and where in the program it went wrong."""
    lines = [
        f"shimwright fault report, {datetime.now(UTC).isoformat(timespec='seconds')}",
        f"typed: {shlex.join(['shimwright', *typed])}",
        f"Python {platform.python_version()} on {platform.platform()}",
        *(f"{name} {_version(name)}" for name in LIBRARIES),
        "",
        "".join(traceback.format_exception(error)),
    ]
    return "\n".join(lines)


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"


def _written(report: str) -> Path | None:
    """Where the report lies: beside other logs of the user, or among temporary files; for the user alone."""
    from platformdirs import user_log_path

    for folder in (user_log_path("shimwright", appauthor=False), Path(tempfile.gettempdir())):
        try:
            folder.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(prefix="fault-", suffix=".txt", dir=folder)
            with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as file:
                file.write(report)
        except OSError:
            continue
        return Path(name)
    return None
