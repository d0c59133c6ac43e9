"""Inches, pounds and psi wherever a person reads, in tables, in pictures and in sentences."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator

import click
import pytest

from optimiser.cli import COMMANDS, cli
from optimiser.report.in_units import in_units
from optimiser.report.unit_system import UnitSystem
from tests.helpers.command_line import Typed
from tests.helpers.counts import thorough_only

IMPERIAL = UnitSystem.IMPERIAL
METRIC_UNIT = re.compile(r"\d (N|m/s|mm|bar|MPa|N/mm|kg|°C)(?![\w/])")
DIALOGUES = {"intake", "demo"}
"""They ask or lead on; neither is an answer that a program reads."""

PAGES = {"bench"}
"""It serves pages, in the units of the shop."""

NO_QUANTITY = {
    "ride-plan",
    "day",
    "labels",
    "tunes",
    "history",
    "measured",
    "share-out",
    "season",
    "outcome",
    "undo",
    "backup",
    "restore",
    "check",
    "done",
    "release",
    "schema",
}
"""What they show is counts, words and shares."""

ALWAYS_IN_THEIR_OWN = {"verify", "stock", "person"}
"""Shim sizes, and a comparison in per cent."""


def commands(name: str, command: click.Command) -> Iterator[tuple[str, set[str]]]:
    if isinstance(command, click.Group):
        for inner in command.commands:
            yield from commands(f"{name} {inner}", command.commands[inner])
    else:
        yield name, {option for parameter in command.params for option in parameter.opts}


def everything() -> dict[str, set[str]]:
    context = click.Context(cli)
    found = ((name, cli.get_command(context, name)) for name in COMMANDS)
    return {path: options for name, command in found if command for path, options in commands(name, command)}


def test_every_command_that_answers_can_answer_a_program() -> None:
    assert {name for name, options in everything().items() if "--json" not in options} == DIALOGUES | PAGES


def test_every_command_that_shows_a_quantity_shows_it_in_the_units_of_the_shop() -> None:
    without = {name.partition(" ")[0] for name, options in everything().items() if "--units" not in options}
    assert without == DIALOGUES | NO_QUANTITY | ALWAYS_IN_THEIR_OWN


@pytest.mark.parametrize(
    ("metric", "imperial"),
    [
        ("0.06 to 0.12 m/s", "2.36 to 4.72 in/s"),
        ("by 0.12 points (2.0 N) at 0.7 m/s", "by 0.12 points (0.45 lbf) at 27.6 in/s"),
        ("1231 MPa in shim 24 (10x0.20)", "179 ksi in shim 24 (10x0.20)"),
        ("25.0 bar now, 858 kg/m³ at 15 °C", "363 psi now, 858 kg/m³ at 59 °F"),
        ("torque 8 N m, −5 N", "torque 8 N m, -1.12 lbf"),
        ("Fit a spring of 85 N/mm", "Fit a spring of 485 lbf/in"),
        ("2 of 17x0.10, hole 8", "2 of 17x0.10, hole 8"),
    ],
)
def test_a_sentence_is_written_again_in_the_reader_s_units(metric: str, imperial: str) -> None:
    """Definitions: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, standard gravity 9.80665 m/s^2."""
    assert in_units(metric, UnitSystem.METRIC) == metric
    assert in_units(metric, IMPERIAL) == imperial


@pytest.mark.parametrize(
    "line",
    [
        "curve dampers/tarn_shock.toml",
        "lift dampers/tarn_shock.toml --stack 'rebound stack'",
        "leverage bikes/oxlip_trail.toml --corner rear --from 0.1 --to 0.3",
        "plan jobs/c_sag_first.toml",
        pytest.param(
            "plan jobs/b_clicks_do.toml", marks=thorough_only("searches, for sentences that others share")
        ),
    ],
)
@pytest.mark.usefixtures("shop")
def test_no_metric_unit_is_left_where_the_shop_reads_imperial(
    typed: Typed, monkeypatch: pytest.MonkeyPatch, line: str
) -> None:
    """Set once for the shop, not at every command."""
    monkeypatch.setenv("SHIMWRIGHT_UNITS", "imperial")
    imperial = typed(*shlex.split(line))
    assert re.search(r"\b(in|psi|lbf|in/s)\b", imperial.out), "nothing was converted"
    assert [row for row in imperial.out.splitlines() if METRIC_UNIT.search(row)] == []
