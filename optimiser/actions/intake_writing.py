"""The files that an intake ends in: what was entered as new, then the job; all of them or none."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from optimiser.actions.intake_files import bike_of, corners_of, damper_of, new_file
from optimiser.errors import InputError
from optimiser.files.base import model_of
from optimiser.files.entry.entry_questions import MODELS
from optimiser.files.entry.places import file_of, new_shelf, shop_of
from optimiser.files.entry.shelf_entry import new_shelf_text
from optimiser.files.entry.toml_written import toml_text
from optimiser.files.job_file import JobFile
from optimiser.files.job_writer import job_text
from optimiser.files.writing import Draft
from optimiser.intake.questions import FILES, NEW


def write_all(job: Path, answers: dict[str, str]) -> tuple[Path, ...]:
    """Write every new file and the job that names them.

    Each is whole before the first appears, and the job appears last.

    Returns
    -------
    tuple
        What was written, the job last.

    Raises
    ------
    InputError
        When a text would not be read again, or a place cannot be written; nothing is written then.
    """
    files = dict(_new_file(key, job, answers) for key in FILES if answers.get(key) == NEW)
    named: dict[str, str] = {key: answers[key] for key in FILES if key in answers}
    fresh = iter(files)
    for key in FILES:
        if named.get(key) == NEW:
            named[key] = Path(os.path.relpath(next(fresh), job.resolve().parent)).as_posix()
    text = job_text({**answers, **named}, corners=corners_of(job, answers))
    model_of(text, JobFile, path=job)
    with contextlib.ExitStack() as stack:
        drafts = []
        for path, content in (*files.items(), (job, text)):
            _make(path.parent)
            draft = stack.enter_context(Draft(path))
            draft.fill(content)
            drafts.append(draft)
        for draft in drafts:
            draft.put()
    here = Path.cwd()
    return (*(path.relative_to(here) if path.is_relative_to(here) else path for path in files), job)


def _new_file(key: str, job: Path, answers: dict[str, str]) -> tuple[Path, str]:
    """Where a new file goes, and its text, which its own reader takes."""
    shop, bike = shop_of(job), bike_of(job, answers)
    if key == "shelf":
        damper = damper_of(job, answers, bike)
        assert damper is not None  # noqa: S101 (every question before was answered)
        return new_shelf(shop), new_shelf_text(damper, answers)
    entry = new_file(key, job, answers, bike)
    path = file_of(key, answers[f"{key} name"], shop)
    if path.exists():
        raise InputError(
            f"{path}: is there already; expected a new name. Type 'back name', and give another."
        )
    kind = entry.form.name if entry.form else key
    head = f"# Entered with 'shimwright intake' as: {kind}.\n# Edit it as you like; keys carry their units.\n"
    text = toml_text(entry.tables() or {}, head=head)
    model_of(text, MODELS[key], path=path)
    return path, text


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"{folder}: cannot be made ({error.strerror}). Choose another place.") from None
