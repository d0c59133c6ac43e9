"""Tables that fit a terminal of 100 characters."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from rich.console import Console, RenderableType

from optimiser.model.answer import Status
from optimiser.report.band_rows import BandRow
from optimiser.report.band_table import bands_table
from optimiser.report.candidates import candidates_table, changes_text
from optimiser.report.tables import adjusters_table, steps_table
from optimiser.report.unit_system import UnitSystem
from tests.helpers.sheet_samples import (
    FEW,
    HOSTILE,
    answer,
    candidate,
    forces,
    key,
    long_names,
    many_shims,
    swapped,
)


def rendered(table: RenderableType, *, width: int = 100) -> str:
    out = io.StringIO()
    Console(file=out, width=width, color_system=None, force_terminal=False).print(table)
    return out.getvalue()


def test_candidates_are_ranked_with_their_figures() -> None:
    """Rank, what changes and where, distance from the desired force, change elsewhere, height, strength."""
    new, change = swapped(FEW, 3, key(17, 0.25))
    chosen = candidate(new, change, forces=forces())
    text = rendered(candidates_table(answer(chosen, chosen), units=UnitSystem.METRIC))
    for figure in (
        "1   17x0.20 to 17x0.25 (4th)",
        "2   17x0.20",
        "1.1 %",
        "1.3 %",
        "1.60 mm",
        "fewest changes",
    ):
        assert figure in text


def test_a_nearest_one_is_not_ranked_and_says_that_it_fails() -> None:
    """It must not pass for a candidate."""
    new, change = swapped(FEW, 3, key(17, 0.25))
    nearest = candidate(new, change, forces=forces())
    failed = answer(nearest=nearest, status=Status.PROVEN_IMPOSSIBLE)
    text = rendered(candidates_table(failed, units=UnitSystem.METRIC))
    assert "it does not reach the goal" in text
    assert "│ 1 │" not in text


def test_a_candidate_without_changes_says_adjusters_only() -> None:
    """No spanner."""
    assert changes_text(candidate(FEW, forces=forces())) == "adjusters only"


@pytest.mark.parametrize("units", UnitSystem)
def test_no_table_is_wider_than_a_hundred_characters_and_no_name_becomes_markup(units: UnitSystem) -> None:
    """Long and hostile names wrap and stay text."""
    for sheet in (many_shims(), long_names()):
        text = "".join(
            map(
                rendered,
                (
                    bands_table(sheet.bands, units=units),
                    steps_table(sheet.steps),
                    adjusters_table(sheet.adjusters),
                ),
            )
        )
        assert max(map(len, text.splitlines())) <= 100
    one_line = rendered(bands_table(long_names().bands, units=units), width=300)
    assert "<b>bold</b>" in one_line
    assert "[red]" in rendered(bands_table(renamed("[red]x"), units=units))


@pytest.mark.parametrize("units", UnitSystem)
def test_a_band_takes_a_line_for_its_name_and_one_for_its_figures_in_eighty_characters(
    units: UnitSystem,
) -> None:
    """Every figure of a row stands on one line, below the name and the velocities."""
    rows = many_shims().bands
    lines = rendered(bands_table(rows, units=units), width=80).splitlines()
    assert max(map(len, lines)) <= 80
    for row in rows:
        (place,) = [number for number, line in enumerate(lines) if f"{row.name}: {row.role.value}" in line]
        figures = next(line for line in lines[place + 1 :] if "%" in line)
        assert units.force_text(row.result.before) in figures.split()
        assert figures.rstrip().endswith(("in range", "at the edge", "out of range"))
        assert figures.count(" to ") == 2


def test_a_held_band_names_the_velocity_where_it_is_tightest() -> None:
    """In the units that people read."""
    held = [row for row in many_shims().bands if row.tightest is not None and not row.result.missed_by]
    assert held
    for row in held:
        for units, unit in ((UnitSystem.METRIC, "m/s"), (UnitSystem.IMPERIAL, "in/s")):
            text = " ".join(rendered(bands_table([row], units=units)).split())
            assert f"tightest at {units.velocity_text(row.tightest or 0)} {unit}" in text


def renamed(name: str) -> list[BandRow]:
    return [replace(long_names().bands[0], name=name)]


def test_a_missed_band_stands_out_without_colour() -> None:
    """In capitals."""
    rows = long_names().bands
    assert "out of range" in rendered(
        bands_table(
            [replace(rows[0], result=replace(rows[0].result, missed_by=0.02))], units=UnitSystem.METRIC
        )
    )
    assert HOSTILE[:6] in rendered(bands_table(rows, units=UnitSystem.METRIC))
