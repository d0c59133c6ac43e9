"""The ladder on a screen and on paper: short lines, true figures, nobody's name taken for markup."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from rich.console import Console

from optimiser.jobs.ladder import LadderStep, steps_of
from optimiser.model import rank
from optimiser.model.goal import Goal, Window
from optimiser.model.ladder import LadderRung
from optimiser.model.stock import Stock
from optimiser.model.ways import folded
from optimiser.report.ladder_picture import ladder_svg
from optimiser.report.ladder_text import (
    WIDTH,
    LadderView,
    advice_text,
    effort_lines,
    ladder_drawing,
    ladder_table,
)
from optimiser.report.unit_system import UnitSystem
from tests.helpers import toy

START = toy.stack((20, 0.2), (18, 0.2), (9, 0.3))
PHYSICS = toy.ToyPhysics()
BEFORE = PHYSICS.forces(PHYSICS.packed(START), 0)


def goal(name: str = "low") -> Goal:
    """Three velocities by 10 % within 2 %, three held within 2 %."""
    made = toy.goal(PHYSICS, START, desired=BEFORE * 1.1, tolerance=np.full(6, 0.02), targets=3)
    first, *rest = made.windows
    named = Window(name, first.role, first.velocities, first.before, first.lower, first.desired, first.upper)
    return Goal((named, *rest), made.least_height, made.most_height)


def steps(asked: Goal, *moves: tuple[float, float], closed: bool = True) -> tuple[LadderStep, ...]:
    """A step for each share by which target and held band move, from one change on."""
    rungs, shelf = [], Stock({toy.key(18, 0.2): 9})
    for changes, (target, held) in enumerate(moves, 1):
        forces = BEFORE * np.where(np.arange(6) < 3, 1 + target, 1 + held)
        new = toy.stack((20, 0.2), *[(18, 0.2)] * (1 + changes), (9, 0.3))
        one = rank.candidate(old=START, new=new, setting=0, forces=forces, goal=asked, stock=shelf)
        met = one.misfit == 0
        ideas = folded([one], old=START, present=0) if met else ()
        rungs.append(LadderRung(changes, ideas, None if met else one, closed))
    return steps_of(rungs, asked, old=START, stock=shelf)


def view(*moves: tuple[float, float], name: str = "low", closed: bool = True) -> LadderView:
    asked = goal(name)
    found = steps(asked, *moves, closed=closed)
    return LadderView(found, tuple(f"in {'18x0.20, ' * place}" for place in range(len(found))), asked, "base")


def table(shown: LadderView, *, units: UnitSystem = UnitSystem.METRIC, width: int = 80) -> str:
    out = io.StringIO()
    Console(file=out, width=width, color_system=None).print(ladder_table(shown, units=units))
    return out.getvalue()


@pytest.mark.parametrize("units", UnitSystem)
def test_a_step_takes_a_line_or_two_of_eighty_characters_and_keeps_its_figures_whole(
    units: UnitSystem,
) -> None:
    text = table(view((0.05, 0.01), (0.09, -0.013)), units=units)
    assert max(map(len, text.splitlines())) <= 80
    assert "A +5.0 % (5.0 to 5.0)" in text
    assert "A +9.0 % (9.0 to 9.0)" in text
    assert "B −1.3 %" in text
    assert "6.9 : 1" in text
    assert text.count("in range") == 1


def test_a_step_that_misses_names_band_points_and_force_in_the_units_asked_for() -> None:
    shown = view((0.05, 0.0))
    worst = shown.steps[0].worst
    assert worst is not None
    for units in UnitSystem:
        text = " ".join(table(shown, units=units).split())
        assert "out in A by 3 points" in text
        assert units.force_text(worst[1].missed_force) in text


def test_lines_say_what_is_opened_what_it_takes_from_the_shelf_and_what_is_proven() -> None:
    miss, met = effort_lines(view((0.05, 0.0), (0.10, 0.0)))
    assert miss.startswith("1 change: ")
    assert "opens the base" in miss
    assert "from the shelf 18x0.20" in miss
    assert "proven: nothing with so much effort is in range with the clickers as they are" in miss
    assert "18x0.20 (uses 2 of 9)" in met
    assert "proven" not in met


def test_what_is_not_closed_is_not_called_proven() -> None:
    (line,) = effort_lines(view((0.05, 0.0), closed=False))
    assert "not proven" in line
    assert "proven: " not in line


def test_the_advice_says_when_a_change_is_a_broad_one() -> None:
    aimed = advice_text(view((0.10, 0.01)), units=UnitSystem.METRIC)
    broad = advice_text(view((0.09, 0.0), (0.10, 0.02)), units=UnitSystem.METRIC)
    assert aimed is not None
    assert broad is not None
    assert "broad" not in aimed
    assert "broad" not in broad  # the lower step is aimed and stands first
    asked = goal()
    wide = Goal(
        (asked.windows[0], *(_loose(window) for window in asked.windows[1:])),
        asked.least_height,
        asked.most_height,
    )
    found = steps(wide, (0.09, 0.08))
    said = advice_text(LadderView(found, ("in 18x0.20",), wide, "base"), units=UnitSystem.METRIC)
    assert said is not None
    assert "It is a broad change" in said
    assert "'high' moves by +8.0 %" in said
    assert said.endswith("nothing better aimed was found.")
    (other,) = steps(wide, (0.09, 0.02))
    named = LadderView(found, ("in 18x0.20",), wide, "base", best_aimed=(4, other.best))
    said = advice_text(named, units=UnitSystem.METRIC)
    assert said is not None
    assert said.endswith("Candidate 4 is better aimed, 4.5 : 1 instead of 1.1 : 1, and takes 1 change.")


def _loose(window: Window) -> Window:
    before = np.array(window.before)
    lower, upper = tuple(before * 0.9), tuple(before * 1.1)
    return Window(window.name, window.role, window.velocities, window.before, lower, window.desired, upper)


def test_the_drawing_puts_limits_mean_and_no_change_where_they_are() -> None:
    drawn = ladder_drawing(view((0.05, 0.0), (0.10, 0.0)))
    strips = [line[15 : 15 + WIDTH] for line in drawn.splitlines() if line.startswith("   1 change")]
    target, held = strips
    assert target.index("|") < target.index("*") < target.index("[") < target.index("]")
    assert held.index("[") < held.index("*") < held.index("]")
    assert max(map(len, drawn.splitlines())) <= 80


def test_the_picture_has_a_panel_a_band_and_a_hostile_name_stays_text() -> None:
    svg = str(ladder_svg(view((0.05, 0.0), (0.10, 0.0), name="<b>low</b> [red]"), title="Steps"))
    assert "<b>" not in svg
    root = ET.fromstring(svg)  # noqa: S314  our own drawing
    panels = [one for one in root.iter() if one.get("id", "").startswith("steps-axes")]
    assert len(panels) == 2
    assert "[red]" in ladder_drawing(view((0.05, 0.0), name="[red]"))
