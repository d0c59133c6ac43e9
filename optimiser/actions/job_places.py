"""Where a job's file lies in the shop's folder, by the name that people call it."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path


def job_name(text: str) -> str:
    """The job's name in the ledger, from the name or from the path of its file."""
    return Path(text).stem if text.endswith(".toml") else text


def job_file(shop: Path, job: str) -> Path | None:
    """The file of a job that is typed by its name or its path; None when there is none.

    Parameters
    ----------
    shop : the shop's folder, which is looked through for a name.
    job : as typed.
    """
    given = [Path(job)] if job.endswith(".toml") else [shop / "jobs" / f"{job}.toml", shop / f"{job}.toml"]
    return next((path for path in given if path.is_file()), None)


def unseen_jobs(shop: Path, known: Collection[str]) -> list[str]:
    """Names of job files in the shop's folder that the ledger does not know.

    Parameters
    ----------
    shop : the folder.
    known : names of the jobs in the ledger.
    """
    return sorted(path.stem for path in (shop / "jobs").glob("*.toml") if path.stem not in known)
