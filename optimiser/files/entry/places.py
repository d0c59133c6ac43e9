"""Where new files of a shop go, and what they are called."""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path

from optimiser.files.shop_folder import shop_folder

JOBS = "jobs"
"""A job in a folder of this name belongs to the shop above it, even before that holds anything."""


def shop_of(job: Path) -> Path:
    """The shop's folder of a job that is not written yet; new files go there."""
    folder = shop_folder(job)
    own = job.resolve().parent
    return own.parent if folder == own and own.name == JOBS else folder


def file_of(key: str, name: str, shop: Path) -> Path:
    """The file of a new rider, bike or damper: its name in plain letters, in the folder of its sort."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "_", plain).strip("_") or "new"
    return shop / f"{key}s" / f"{stem}.toml"


def new_shelf(shop: Path) -> Path:
    """A name for a new shelf that no file has."""
    names = ("shelf.csv", *(f"shelf_{number}.csv" for number in range(2, 1000)))
    return next(place for name in names if not (place := shop / name).exists())
