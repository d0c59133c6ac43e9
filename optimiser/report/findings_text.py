"""What the basics have found, for the terminal: what to put right before a damper is opened."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console
from rich.text import Text

from optimiser.intake.basics import BasicsFinding
from optimiser.report.in_units import in_units
from optimiser.report.unit_system import UnitSystem


def print_findings(console: Console, findings: Iterable[BasicsFinding], *, units: UnitSystem) -> None:
    """Show each finding with its way out; one that stops a plan begins with 'First'."""
    for finding in findings:
        mark = "First" if finding.stops else "Mind"
        held = f"{mark}: {finding.what}: got {finding.got}, expected {finding.expected}."
        console.print(Text(in_units(held, units)))
        console.print(Text(in_units(f"  {finding.do_this} {finding.why}", units)))
