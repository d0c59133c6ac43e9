"""What the basics have found, for the terminal: what to put right before a damper is opened."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from optimiser.intake.basics import BasicsFinding, GateResult
from optimiser.report.in_units import in_units
from optimiser.report.unit_system import UnitSystem


def unchecked_words(gate: GateResult) -> str | None:
    """What nobody measured before the damper is opened, in a sentence; None where all was.

    >>> unchecked_words(GateResult(True, (), ("sag, front", "sag, rear", "leaks, rear"), None))
    'Unchecked, since nobody measured it: sag (front, rear); leaks (rear).'
    """
    places: dict[str, list[str]] = {}
    for what, _, where in (one.partition(", ") for one in gate.unchecked):
        places.setdefault(what, []).append(where)
    named = (what + (f" ({', '.join(where)})" if any(where) else "") for what, where in places.items())
    return f"Unchecked, since nobody measured it: {'; '.join(named)}." if places else None


def print_findings(console: Console, findings: Iterable[BasicsFinding], *, units: UnitSystem) -> None:
    """Show each finding with its way out, one that several share once; one that stops begins with 'First'."""
    shared: dict[str, list[BasicsFinding]] = {}
    for finding in findings:
        shared.setdefault(f"{finding.do_this} {finding.why}", []).append(finding)
    for way_out, alike in shared.items():
        for finding in alike:
            mark = "First" if finding.stops else "Mind"
            held = f"{mark}: {finding.what}: got {finding.got}, expected {finding.expected}."
            console.print(Text(in_units(held, units), style="bold" if finding.stops else ""))
        console.print(Padding(Text(in_units(way_out, units)), (0, 0, 0, 2)))
