"""Options and words that the commands of the ledger share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from optimiser.ledger.once import Done
    from optimiser.model.stock import ShimKey

Command = TypeVar("Command", bound=Callable[..., Any])


def shop_option(command: Command) -> Command:
    """Let the user name the folder that holds the ledger."""
    return click.option(
        "--shop",
        type=click.Path(path_type=Path, file_okay=False),
        default=Path(),
        envvar="SHIMWRIGHT_SHOP",
        show_default="this folder",
        show_envvar=True,
        help="Folder of the shop's ledger.",
    )(command)


def hole_option(command: Command) -> Command:
    """Let the user say the hole where outer diameter and thickness leave it open."""
    return click.option(
        "--hole", "hole_mm", type=float, help="Diameter of the hole in mm, if it is not plain."
    )(command)


def reason_option(default: str) -> Callable[[Command], Command]:
    """Let the user write down why."""
    return click.option(
        "--reason", default=default, show_default=True, callback=_said, help="Why; kept in the ledger."
    )


def _said(_context: click.Context, _option: click.Parameter, text: str) -> str:
    if not text.strip():
        raise click.BadParameter("got nothing, expected why in a few words; or leave the option out.")
    return text.strip()


def once_option(command: Command) -> Command:
    """Let the user give a step an id, so that the command can be given again after a crash."""
    return click.option(
        "--once",
        "identity",
        metavar="ID",
        help="An id of your own for this step: given again with the same ID, the command does nothing more.",
    )(command)


def already(done: Done, *, what: str) -> str:
    """Says that a command with an id was done before."""
    moment = (done.before or "")[:16].replace("T", " ")
    return f"Done already, at {moment} UTC, as {what}; nothing is done again."


def type_keys(key: ShimKey) -> dict[str, float]:
    """A type for programs. [mm]"""
    return {
        "outer_diameter_mm": key.outer / 1000,
        "thickness_mm": key.thickness / 1000,
        "inner_diameter_mm": key.inner / 1000,
    }


def with_hole(key: ShimKey) -> str:
    """A type for people: ``20x0.15, hole 8``."""
    return key.with_hole
