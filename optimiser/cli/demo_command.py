"""``shimwright demo``: an invented shop, laid out and put to work."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import click

from optimiser.cli.saying import say
from optimiser.errors import InputError

FIRST_JOB = Path("jobs") / "a_more_support.toml"
NEXT_JOB = Path("jobs") / "b_clicks_do.toml"


@click.command("demo")
@click.argument("folder", type=click.Path(path_type=Path), default=Path("shimwright_demo"))
@click.pass_context
def command(context: click.Context, folder: Path) -> int:
    """Lay out an invented shop in FOLDER and plan its first job.

    The folder holds a shelf, dampers, bikes, riders and jobs, all as files to look at and to change.

    Example: shimwright demo my_first_shop
    """
    from optimiser.cli.plan_command import command as plan
    from optimiser.files.demo_shop import lay_out

    if folder.exists() and any(folder.iterdir()):
        raise InputError(
            f"{folder}: is there already and not empty; expected a new folder. "
            f"Name another one, as in: {_called()} demo another_shop"
        )
    lay_out(folder)
    say(f"An invented shop is laid out in {folder}.\n")
    code: int = context.invoke(plan, job=folder / FIRST_JOB)
    say(f"\nNext, try the other jobs: {_called()} plan {folder / NEXT_JOB}")
    say(f"Or do it all in a browser: {_called()} bench --shop {folder}")
    return code


def _called() -> str:
    """What to type for this program from where it was called: not everybody has it on the path."""
    return "shimwright" if shutil.which("shimwright") else sys.argv[0]
