"""Where a job's file lies in the shop's folder, by the name that people call it."""

from __future__ import annotations

import tomllib
from collections.abc import Collection
from glob import escape
from pathlib import Path


def job_name(text: str) -> str:
    """The job's name in the ledger, from the name or from the path of its file."""
    return Path(text).stem if text.endswith(".toml") else text


def job_file(shop: Path, job: str) -> Path | None:
    """The file of a job that is typed by its name or its path; None when there is none, or several.

    Parameters
    ----------
    shop : the shop's folder, which is looked through for a name.
    job : as typed.
    """
    given = [Path(job)] if job.endswith(".toml") else [shop / "jobs" / f"{job}.toml", shop / f"{job}.toml"]
    found = next((path for path in given if path.is_file()), None)
    if found is not None or job.endswith(".toml"):
        return found
    elsewhere = [path for path in shop.glob(f"*/{escape(job)}.toml") if _is_job(path)]
    return elsewhere[0] if len(elsewhere) == 1 else None


def _is_job(path: Path) -> bool:
    """Whether a file names a damper and a rider, as jobs do."""
    try:
        return {"damper", "rider"} <= tomllib.loads(path.read_text(encoding="utf-8")).keys()
    except (OSError, ValueError):
        return False


def unseen_jobs(shop: Path, known: Collection[str]) -> list[str]:
    """Names of job files in the shop's folder that the ledger does not know.

    Parameters
    ----------
    shop : the folder.
    known : names of the jobs in the ledger.
    """
    return sorted(path.stem for path in (shop / "jobs").glob("*.toml") if path.stem not in known)
