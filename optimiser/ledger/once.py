"""A step that is asked for twice under one id is done once: the way to give a command again after a crash."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import RefusedError

LONGEST: Final = 100
"""The longest id. [characters]"""

Kept = Literal["operation", "outcome"]


@dataclass(frozen=True, slots=True)
class Done:
    """A step that is in the books.

    Parameters
    ----------
    number : of the operation, or of the outcome.
    before : when it was done by an earlier command with the same id, UTC; None when it was done now.
    """

    number: int
    before: str | None = None


def once(
    ledger: Ledger, identity: str | None, asked: tuple[object, ...], kept: Kept, step: Callable[[], int]
) -> Done:
    """Do a step, unless one with the same id was done.

    Parameters
    ----------
    ledger : the shop's ledger.
    identity : the id; None to do the step in any case.
    asked : all that makes the command what it is; kept as a digest, so that it holds nobody's name.
    kept : where the step's number counts.
    step : does it and gives its number; in the transaction that records the id.

    Raises
    ------
    RefusedError
        When the id was used for something else, or is empty or too long.
    """
    if identity is not None and not 0 < len(identity.strip()) == len(identity) <= LONGEST:
        raise RefusedError(
            f"--once: got {identity[:20]!r}, expected an id of 1 to {LONGEST} characters without spaces "
            "around it, such as 'invoice-12'."
        )
    digest = hashlib.blake2b(json.dumps(asked).encode(), digest_size=16).hexdigest()
    with ledger.atomic() as connection:
        if identity is None:
            return Done(step())
        row = connection.execute(
            "SELECT at, asked, coalesce(operation_id, outcome_id) AS number FROM once WHERE id = ?",
            (identity,),
        ).fetchone()
        if row is None:
            number = step()
            connection.execute(
                f"INSERT INTO once (id, at, asked, {kept}_id) VALUES (?, ?, ?, ?)",  # noqa: S608 (two literals)
                (identity, ledger.clock(), digest, number),
            )
            return Done(number)
        if row["asked"] != digest:
            raise RefusedError(
                f"--once: the id {identity!r} was used at {row['at'][:16]} UTC for another command; expected "
                "that command again, or a new id. Nothing was changed."
            )
        return Done(row["number"], row["at"])
