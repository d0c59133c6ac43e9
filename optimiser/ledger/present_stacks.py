"""The stacks of a damper as they are now, where its file still lists them as they were."""

from __future__ import annotations

from optimiser.ledger.connection import Ledger
from optimiser.ledger.jobs import JobRecord, StackState, stack_history
from optimiser.ledger.part_states import PartState, later_parts

HOW = {"built": "built", "put back": "put back", "as found": "found"}


def present_stacks(ledger: Ledger, record: JobRecord) -> tuple[StackState, ...]:
    """The latest state of every stack that a damper file lists as the ledger knew it earlier; reads only.

    A stack that the ledger never knew is not among them: the damper came in with it.

    Parameters
    ----------
    ledger : the shop's ledger.
    record : the job, with the stacks as the damper file lists them.
    """
    damper = _damper_number(ledger, record)
    if damper is None:
        return ()
    found = []
    history = stack_history(ledger, damper)
    for name, listed in record.stacks.items():
        states = [state for state in history if state.stack_name == name]
        if states and states[-1].stack != listed and any(state.stack == listed for state in states):
            found.append(states[-1])
    return tuple(found)


def present_parts(ledger: Ledger, record: JobRecord) -> tuple[PartState, ...]:
    """Parts that a damper file has as the ledger knew them earlier, as they are now; reads only."""
    damper = _damper_number(ledger, record)
    return () if damper is None else tuple(later_parts(ledger, damper, record.parts))


def fitted_stacks(ledger: Ledger) -> tuple[tuple[str, str, tuple[StackState, ...]], ...]:
    """Machine, damper and the stacks that are in it now, for every damper that the ledger knows."""
    with ledger.reading() as connection:
        dampers = connection.execute(
            "SELECT damper.id, damper.name, machine.name AS machine FROM damper "
            "JOIN machine ON machine.id = machine_id ORDER BY machine.name, damper.name"
        ).fetchall()
    found = []
    for row in dampers:
        latest = {state.stack_name: state for state in stack_history(ledger, row["id"])}
        found.append((row["machine"], row["name"], tuple(latest.values())))
    return tuple(found)


def how_it_came(state: StackState) -> str:
    """How a stack came to be as it is: ``built on 2026-11-28 for job 'a_more_support'``."""
    job = "" if state.job is None or state.origin != "built" else f" for job {state.job!r}"
    return f"{HOW[state.origin]} on {state.at[:10]}{job}"


def _damper_number(ledger: Ledger, record: JobRecord) -> int | None:
    with ledger.reading() as connection:
        row = connection.execute(
            "SELECT damper.id FROM damper JOIN machine ON machine.id = machine_id "
            "JOIN person ON person.id = person_id "
            "WHERE person.name = ? AND machine.name = ? AND damper.name = ?",
            (record.rider, record.machine, record.damper),
        ).fetchone()
    return None if row is None else int(row[0])
