"""The command line: each command parses, calls one function of the library and shows the result.

A command's module is imported only when it is asked for, so that ``shimwright --help`` answers at once.
"""

from __future__ import annotations

import importlib
import io
import os
import sys
from typing import Final

import click

from optimiser.cli.saying import say
from optimiser.errors import ShimwrightError

BAD_INPUT: Final = 2
INTERRUPTED: Final = 130

COMMANDS: Final = {
    "intake": ("optimiser.cli.intake_command", "Guided questions that write a job file."),
    "plan": ("optimiser.cli.plan_command", "From a job file to a build sheet: the fewest shims changed."),
    "reach": ("optimiser.cli.reach_command", "Show how far each band can be moved, the others held."),
    "shop": ("optimiser.cli.shop_command", "Which shim type to buy to reach a job, or save a change."),
    "season": ("optimiser.cli.season_command", "What to hold for a season's jobs: reach against price."),
    "resolution": ("optimiser.cli.resolution_command", "The smallest steps that one change makes."),
    "curve": ("optimiser.cli.curve_command", "Draw force against velocity of a damper."),
    "dyno": ("optimiser.cli.dyno_command", "Read a dyno run: its points, and what was derived."),
    "fit": ("optimiser.cli.fit_command", "Fit a damper's figures to its dyno runs, for plans to use."),
    "log": ("optimiser.cli.log_command", "What a wheel did on a ride, from a log of its travel."),
    "compare": ("optimiser.cli.compare_command", "What if: stacks, clicks, oils laid over one another."),
    "ride-plan": ("optimiser.cli.ride_plan_command", "Rides that show what the adjusters can do."),
    "ride": ("optimiser.cli.ride_command", "What the wheel does in a ride, before and after."),
    "leverage": ("optimiser.cli.leverage_command", "Show what a band at the shaft means at the wheel."),
    "suits": ("optimiser.cli.suits_command", "Judge a damper as delivered for a frame and rider."),
    "tunes": ("optimiser.cli.tunes_command", "List liked tunes, the nearest to a frame and rider first."),
    "stock": ("optimiser.cli.stock_command", "Keep the shelf: import, list, receive, count, reorder."),
    "build": ("optimiser.cli.build_command", "Reserve a candidate's shims and write its sheet."),
    "share-out": ("optimiser.cli.share_out_command", "One shelf for the jobs of a day."),
    "day": ("optimiser.cli.day_command", "Open jobs, reserved shims, what is low, what rides showed."),
    "labels": ("optimiser.cli.labels_command", "Labels for drawers and dampers, to print."),
    "done": ("optimiser.cli.done_command", "What was reserved is fitted, what came out is put back."),
    "release": ("optimiser.cli.release_command", "Put back what a job has reserved."),
    "outcome": ("optimiser.cli.outcome_command", "Write down what the ride showed."),
    "measured": ("optimiser.cli.measured_command", "What a dyno showed of a build, beside its promise."),
    "history": ("optimiser.cli.history_command", "Show what this shop tried for a symptom, and what it did."),
    "undo": ("optimiser.cli.undo_command", "Take a step of the ledger back."),
    "person": ("optimiser.cli.person_command", "Show, export or erase a rider's record."),
    "backup": ("optimiser.cli.backup_command", "Copy the ledger while it is in use."),
    "restore": ("optimiser.cli.restore_command", "Go back to a backup of the ledger."),
    "check": ("optimiser.cli.check_command", "Check the books, and say what mends them."),
    "lift": ("optimiser.cli.lift_command", "Show how a stack lifts under pressure, and its stress."),
    "verify": ("optimiser.cli.verify_command", "Hold the stack model against reference deflections."),
    "bench": ("optimiser.cli.bench_command", "The shop as a page in the browser, on this machine."),
    "demo": ("optimiser.cli.demo_command", "Lay out an invented shop and run its first job."),
    "schema": ("optimiser.cli.schema_command", "Print the JSON Schema of an input file."),
}
"""Every command: the module that holds it, and its first line of help."""


class LazyGroup(click.Group):
    """A group that knows its commands by name and imports one when it runs or explains itself."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 (click's own signature)
        """Name the commands in the order of the job, not of the alphabet."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import the module of one command."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(COMMANDS[cmd_name][0]).command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """List the commands from the table above, importing none of them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, first_line) for name, (_, first_line) in COMMANDS.items()])


@click.group(
    cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(package_name="shimwright", message="%(prog)s %(version)s")
@click.option("--outside", is_flag=True, help="A job may name files outside its shop's folder; I trust it.")
def cli(outside: bool) -> None:
    """From a rider's complaint to a build sheet: the fewest shims changed, from what is on the shelf.

    Start with 'shimwright demo'. Exit codes: 0 an answer, 1 a problem found, 2 input that cannot be used,
    3 proven that it cannot be done, 4 stopped at the basics, 5 a fault of the program, 130 interrupted.
    """
    if outside:
        from optimiser.files.shop_folder import TRUSTED

        os.environ[TRUSTED] = "1"


def main() -> None:
    """Run the command line; every fault a user can cause ends in one message and an exit code."""
    from damping_model.errors import ModelError
    from optimiser.ledger import kept

    kept.begin()
    try:
        code = cli.main(standalone_mode=False, prog_name="shimwright")
    except click.exceptions.Abort:
        sys.exit(_say("Interrupted.", INTERRUPTED))
    except click.ClickException as error:
        shown = io.StringIO()
        error.show(file=shown)
        sys.exit(_say(shown.getvalue().rstrip("\n"), BAD_INPUT))
    except (ShimwrightError, ModelError) as error:
        sys.exit(_say(str(error), BAD_INPUT))
    except KeyboardInterrupt:
        sys.exit(_say("Interrupted.", INTERRUPTED))
    except SystemExit:
        # click's own end, when nobody reads the answer any more
        if kept.what_stands():
            say(f"The answer was cut off, since nobody reads it. {kept.what_stands()}", err=True)
        raise
    except OSError as error:
        sys.exit(_say(_refused_by_the_system(error), BAD_INPUT))
    except Exception as error:
        from optimiser.cli.fence import FAULT, fault_said

        sys.exit(_say(fault_said(error, sys.argv[1:]), FAULT))
    sys.exit(code if isinstance(code, int) else 0)


def _refused_by_the_system(error: OSError) -> str:
    where = "" if error.filename is None else f"{error.filename}: "
    reason = error.strerror or str(error) or type(error).__name__
    from optimiser.ledger.kept import what_stands

    advice = "Check the name, the folder, its rights and its free room."
    return " ".join(filter(None, (f"{where}the system refused ({reason}).", what_stands(), advice)))


def _say(message: str, code: int) -> int:
    say(message, err=True)
    return code
