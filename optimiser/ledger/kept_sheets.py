"""Build sheets that are a shop's record: what was reserved or built is never written over."""

from __future__ import annotations

from itertools import count
from pathlib import Path

from optimiser.ledger.connection import Ledger

_STANDS = "state IN ('reserved', 'done')"


def place_for_sheet(ledger: Ledger, place: Path, *, job: str | None = None) -> Path:
    """Where a new sheet goes: the place itself, or the next number beside the sheet of a build.

    Parameters
    ----------
    ledger : the shop's ledger.
    place : where it would go.
    job : a job of which any build's sheet is taken to lie at ``place``, with notes on it or not; None: none.
    """
    if not _is_kept(ledger, place) and not (job is not None and place.exists() and _has_build(ledger, job)):
        return place
    numbered = (place.with_stem(f"{place.stem}-{number}") for number in count(2))
    return next(one for one in numbered if not _is_kept(ledger, one))


def _is_kept(ledger: Ledger, place: Path) -> bool:
    """Whether a file holds the sheet of a build that is reserved or done."""
    try:
        text = place.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return False
    with ledger.reading() as connection:
        row = connection.execute(
            f"SELECT 1 FROM build WHERE {_STANDS} AND sheet <> '' AND sheet = ?",  # noqa: S608
            (text,),
        ).fetchone()
    return row is not None


def _has_build(ledger: Ledger, job: str) -> bool:
    with ledger.reading() as connection:
        row = connection.execute(
            f"SELECT 1 FROM build JOIN job ON job.id = job_id WHERE job.name = ? AND {_STANDS}",  # noqa: S608
            (job,),
        ).fetchone()
    return row is not None
