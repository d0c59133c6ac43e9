"""What a job asks for, written anew in its file: targets, held bands, how much may change; the rest stays."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path

import tomlkit
from tomlkit.items import AoT

from optimiser.files.base import model_of, read_text
from optimiser.files.job_file import JobFile
from optimiser.files.writing import write_whole

Row = Mapping[str, str | float | bool]
"""A table of the job file, by its keys."""


def write_bands(path: Path, *, targets: Sequence[Row], holds: Sequence[Row], most_changes: int) -> None:
    """Write the bands of a job, and the most shims changed, into its file.

    Parameters
    ----------
    path : the job file.
    targets, holds : a table each, with the keys of the file; the units are in the keys.
    most_changes : of shims.

    Raises
    ------
    InputError
        Naming the key that is not as it should be; the file is then as it was.
    """
    write_whole(
        path,
        with_bands(
            read_text(path, what="job"), targets=targets, holds=holds, most_changes=most_changes, path=path
        ),
    )


def with_bands(
    text: str, *, targets: Sequence[Row], holds: Sequence[Row], most_changes: int, path: Path
) -> str:
    """The text of a job file with other bands; ``path`` names it in messages."""
    document = tomlkit.parse(text)
    work = document.setdefault("work", tomlkit.table())
    work["most_changes"] = most_changes
    for key, rows in (("target", targets), ("hold", holds)):
        document.pop(key, None)
        if rows:
            document.append(key, _tables(rows))
    written = tomlkit.dumps(document)
    # What was taken out leaves its blank lines behind; those inside a text stay.
    closer = re.sub(r"\n{3,}", "\n\n", written)
    if tomllib.loads(closer) == tomllib.loads(written):
        written = closer
    model_of(written, JobFile, path=path)
    return written


def _tables(rows: Sequence[Row]) -> AoT:
    listed = tomlkit.aot()
    for row in rows:
        table = tomlkit.table()
        for key, value in row.items():
            table[key] = value
        listed.append(table)
    return listed
