"""What was in a damper, and since when: every stack that the books know of dampers of one name."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.ledger.connection import Ledger
from optimiser.ledger.jobs import StackState, stack_history


@dataclass(frozen=True, slots=True)
class StackInDamper:
    """A stack that was in a damper.

    Parameters
    ----------
    machine : that the damper belongs to.
    state : the stack, since when, and how it came.
    """

    machine: str
    state: StackState


def history_of(ledger: Ledger, damper: str) -> tuple[StackInDamper, ...]:
    """The stacks of all dampers of a name, the oldest first.

    Parameters
    ----------
    ledger : the shop's ledger.
    damper : its name.
    """
    with ledger.reading() as connection:
        rows = connection.execute(
            "SELECT damper.id, machine.name AS machine FROM damper JOIN machine ON machine.id = machine_id "
            "WHERE damper.name = ? ORDER BY damper.id",
            (damper,),
        ).fetchall()
    found = [
        StackInDamper(row["machine"], state) for row in rows for state in stack_history(ledger, row["id"])
    ]
    return tuple(sorted(found, key=lambda one: one.state.at))
