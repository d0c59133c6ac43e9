"""Options that several commands share, so that they read and behave the same everywhere."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., Any])


def units_option(command: Command) -> Command:
    """Let the user choose what forces, velocities and lengths are written in; shims stay in mm."""
    return click.option(
        "--units",
        type=click.Choice(["metric", "imperial"]),
        default="metric",
        show_default=True,
        envvar="SHIMWRIGHT_UNITS",
        show_envvar=True,
        help="Units for people; shims stay in mm, and --json is always in the units that its keys name.",
    )(command)


def measured_option(command: Command) -> Command:
    """Let the user plan with what a micrometer read instead of nominal sizes."""
    return click.option(
        "--measured", is_flag=True, help="Plan with shims as they measure, where the shelf says so."
    )(command)


def as_found_option(command: Command) -> Command:
    """Let the user plan from a damper as its file says, although the shop has changed it since."""
    return click.option(
        "--as-found", is_flag=True, help="The damper came in as its file says, whatever the ledger knows."
    )(command)


def asked_otherwise_options(command: Command) -> Command:
    """Let the user ask for something else than the job's file says; the file stays as it is."""
    for option in (
        click.option("--stack", help="Change this stack instead, and no other."),
        click.option(
            "--changes", "most_changes", type=click.IntRange(0, 4), help="Allow so many changes instead."
        ),
        click.option(
            "--ask",
            "shifts",
            metavar='"BAND=PERCENT"',
            multiple=True,
            help="Ask a target for this shift instead, on average.",
        ),
        click.option(
            "--hold",
            "tolerances",
            metavar='"BAND=PERCENT"',
            multiple=True,
            help="Let a held band move by so much instead.",
        ),
    ):
        command = option(command)
    return command


friction_option = click.option(
    "--friction",
    type=click.FloatRange(0, 1),
    default=0.0,
    show_default=True,
    help="Coefficient between shims, for an estimate of the width it gives; 0.08 to 0.15 is common practice.",
)


def confidence_option(command: Command) -> Command:
    """Let the user ask that all limits hold in most dampers built like this."""
    return click.option(
        "--confidence",
        type=click.FloatRange(min=0.5, max=0.99),
        metavar="SHARE",
        help="Of dampers built like this, so many keep all limits: 0.9 is 9 in 10.",
    )(command)


def json_option(command: Command) -> Command:
    """Let the user ask for the documented keys instead of text."""
    return click.option(
        "--json", "as_json", is_flag=True, help="Print the documented keys for programs instead of text."
    )(command)


time_limit_option = click.option(
    "--time-limit",
    type=click.FloatRange(min=0),
    help="Give what stands after so many seconds; 0 for no limit. The job's own or 60 when left out.",
)
"""How long to wait, see :meth:`optimiser.jobs.job.WorkOptions.patience`."""
