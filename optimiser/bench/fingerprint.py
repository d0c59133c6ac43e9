"""What changes when a file of the shop does, so that what was made of the files is made again only then."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from optimiser.bench.work_folder import PROGRESS

INPUTS: Final = (".toml", ".csv")
"""How files end that physics begins with; those in the shop's own folder count too, its books with them."""

Fingerprint = tuple[tuple[str, int, int], ...]
"""Path, time and size of each file."""


def fingerprint_of_inputs(shop: Path) -> Fingerprint:
    """Of what physics begins with."""
    own = len(str(shop)) + 1
    found = _files(str(shop), deep=1)
    return tuple(sorted(one for one in found if one[0].endswith(INPUTS) or os.sep not in one[0][own:]))


def fingerprint_of_all(shop: Path) -> Fingerprint:
    """Of all that pages show, but for how far work is, which changes at every moment."""
    return tuple(sorted(one for one in _files(str(shop), deep=2) if not one[0].endswith(PROGRESS)))


def _files(folder: str, *, deep: int) -> Iterator[tuple[str, int, int]]:
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                if entry.is_dir():
                    if deep:
                        yield from _files(entry.path, deep=deep - 1)
                else:
                    about = entry.stat()
                    yield entry.path, about.st_mtime_ns, about.st_size
    except OSError:
        return  # gone while it was looked at; that changes the fingerprint as well
