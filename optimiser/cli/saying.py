"""How a command says something: text for people without control characters, JSON for programs unchanged."""

from __future__ import annotations

import click

from optimiser.report.printable import printable, printable_json


def say(text: object = "", *, err: bool = False, nl: bool = True) -> None:
    """Print text for people; what would control a terminal is shown as marks.

    Parameters
    ----------
    text : what to say.
    err : where messages go instead of where answers go.
    nl : whether a line ends behind it.
    """
    click.echo(printable(str(text)), err=err, nl=nl)


def say_json(text: str) -> None:
    """Print JSON for programs; what would control a terminal is written as an escape of JSON."""
    click.echo(printable_json(text))
