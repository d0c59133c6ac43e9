"""How fine a stack is, on a terminal of 80 characters."""

from __future__ import annotations

import io

from rich.console import Console

from optimiser.model.goal import Role, Window
from optimiser.report.resolution_text import ladder_table
from optimiser.report.unit_system import UnitSystem
from optimiser.studies.refinement import Rung
from optimiser.studies.resolution import BandSteps
from tests.helpers import toy


def band(name: str, role: Role) -> BandSteps:
    ones = (1.0, 1.0)
    return BandSteps(Window(name, role, (0.1, 0.2), ones, ones, ones, ones), (), ())


def test_no_head_of_the_rebuilds_is_cut_at_eighty_characters_in_inches_too() -> None:
    console = Console(file=io.StringIO(), width=80)
    bands = [band("support", Role.TARGET), band("edges", Role.HOLD)]
    now = Rung(
        toy.stack(*[(20.0, 0.2)] * 39, (9.0, 0.3)), True, True, (0.1111, 0.1112), (0.1113,), (0.1114, 0.1)
    )
    console.print(ladder_table([now], bands, UnitSystem.IMPERIAL))
    assert isinstance(console.file, io.StringIO)
    words = console.file.getvalue().split()
    assert "…" not in console.file.getvalue()
    assert [words.count(one) for one in ("One", "shim", "out", "elsewhere", "target", "Rebuild", "moves", "held")] == [
        2, 2, 2, 1, 2, 2, 2, 1,
    ]  # fmt: skip
    for figure in ("40", "in", "11.11", "11.12", "11.13", "11.14"):
        assert figure in words
