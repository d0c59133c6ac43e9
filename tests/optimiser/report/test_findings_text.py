"""What the basics have found is said once, however many corners share it."""

from __future__ import annotations

import io

from rich.console import Console

from optimiser.intake.basics import BasicsFinding, GateResult
from optimiser.report.findings_text import print_findings
from optimiser.report.unit_system import UnitSystem

PLAY = [
    BasicsFinding(
        f"free play, {end}", "free play", "none", "Find it and mend it.", "A damper cannot act there."
    )
    for end in ("front", "rear")
]
LEAK = BasicsFinding(
    "leak, front", "oil gets out", "dry", "Mend the leak.", "It has another curve on every ride."
)


def test_what_two_corners_have_in_common_is_said_once_below_both() -> None:
    console = Console(file=io.StringIO(), width=80)
    print_findings(console, [PLAY[0], LEAK, PLAY[1]], units=UnitSystem.METRIC)
    assert isinstance(console.file, io.StringIO)
    assert [line.rstrip() for line in console.file.getvalue().splitlines()] == [
        "First: free play, front: got free play, expected none.",
        "First: free play, rear: got free play, expected none.",
        "  Find it and mend it. A damper cannot act there.",
        "First: leak, front: got oil gets out, expected dry.",
        "  Mend the leak. It has another curve on every ride.",
    ]


def test_a_sentence_names_each_thing_to_do_once() -> None:
    gate = GateResult(passed=False, findings=(PLAY[0], LEAK, PLAY[1]), unchecked=(), override_reason=None)
    assert gate.first == "Basics first: Find it and mend it. Mend the leak."
