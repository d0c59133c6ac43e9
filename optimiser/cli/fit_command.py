"""``shimwright fit``: what runs on a dyno tell of a damper's figures, kept beside its file for plans."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

import click

from optimiser.cli.options import json_option, units_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from optimiser.files.dyno.reader import SaidOfFiles

DOES_NOT_HOLD: Final = 3
"""Exit code of a fit that does not hold."""

INTERRUPTED: Final = 130


@click.command("fit")
@click.argument("damper", type=click.Path(path_type=Path))
@click.argument("runs", nargs=-1, type=click.Path(path_type=Path))
@click.option("--write", is_flag=True, help="Keep the fit beside DAMPER: plans use it from then on.")
@click.option("--even-so", is_flag=True, help="With --write, keep a fit that does not hold, too.")
@click.option("--forget", is_flag=True, help="Take back the fit that is kept beside DAMPER.")
@click.option("--job", type=click.Path(path_type=Path), help="Say which run would tell most for this job.")
@click.option("--machine", metavar="NAME", help="Columns of a machine that this shop remembers.")
@click.option("--clicks", multiple=True, metavar="NAME=N", help="Clicks out of an adjuster, in every run.")
@click.option("--temperature", metavar="T", help="Of the damper, in every run, as '40 C'.")
@click.option("--svg", type=click.Path(path_type=Path, dir_okay=False), help="Draw points and curves here.")
@units_option
@json_option
def command(
    damper: Path,
    runs: tuple[Path, ...],
    write: bool,
    even_so: bool,
    forget: bool,
    job: Path | None,
    machine: str | None,
    clicks: tuple[str, ...],
    temperature: str | None,
    svg: Path | None,
    units: Literal["metric", "imperial"],
    as_json: bool,
) -> int:
    """Find the figures with which DAMPER does what it did in RUNS on a dyno.

    RUNS are files as 'shimwright dyno' reads them. The damper's file lists the stacks that were in it on the
    dyno. Each figure is told, told from one side, or not told by the runs, and those that are not told stay
    as they are written. The file of the damper never changes: with --write the fit is kept beside it, and
    plans use it until --forget or until figures of the file change.

    A fit that does not hold is only kept with --even-so. The exit code is 3 when the fit does not hold, 130
    when it was stopped.

    Example: shimwright fit dampers/tarn_shock.toml dyno/tarn_peaks.csv --write
    """
    if forget:
        if runs or write:
            raise InputError("--forget: got runs or --write beside it, expected it alone. Leave one out.")
        return _forget(damper)
    if not runs:
        raise InputError(
            "got no runs, expected at least one file of them, as in: shimwright fit "
            f"{damper} dyno/runs.csv. To take a fit back: --forget."
        )
    from optimiser.cli.watching import stoppable

    with stoppable("Reading the runs") as (show, should_stop):
        from optimiser.actions.fit_damper import fit_files
        from optimiser.fit.posterior import StoppedError

        try:
            found = fit_files(
                damper,
                runs,
                said=_said(machine, clicks, temperature),
                job=job,
                say=show,
                should_stop=should_stop,
            )
        except StoppedError:
            say("Stopped before the fit was done; nothing is written.", err=True)
            return INTERRUPTED
    from datetime import date

    from optimiser.documents.fit import fit_document
    from optimiser.files.fit_file import write_fit
    from optimiser.files.writing import write_whole
    from optimiser.report.console import terminal
    from optimiser.report.fit_picture import fit_svg
    from optimiser.report.fit_text import kept_words, print_advice, print_fit, words_against
    from optimiser.report.unit_system import UnitSystem

    system, fit = UnitSystem(units), found.fit
    against = words_against(fit.verdict, UnitSystem.METRIC)
    place = None
    if write and (fit.verdict.holds or even_so):
        day = date.today().isoformat()
        place = write_fit(damper, fit, runs=found.used(runs), day=day, against=against)
    written, fitted = found.lines()
    if svg is not None:
        shown = [stretch.run for stretch in fit.sample.stretches]
        title = f"{found.typed.name}: measured and fitted"
        write_whole(svg, fit_svg(shown, typed=written, fitted=fitted, units=system, title=title))
    if as_json:
        document = fit_document(
            fit,
            against=against,
            advice=found.advice,
            written=None if place is None else str(place),
            picture=None if svg is None else str(svg),
        )
        say_json(document.model_dump_json(indent=2))
    else:
        console = terminal()
        print_fit(console, fit, lines=fitted, notes=found.session.notes, units=system)
        if found.advice is not None:
            print_advice(console, *found.advice, units=system)
        if svg is not None:
            say(f"Picture: {svg}")
        say(kept_words(place, damper, asked=write))
    return 0 if fit.verdict.holds else DOES_NOT_HOLD


def _forget(damper: Path) -> int:
    from optimiser.actions.fit_damper import forget_fit

    place = forget_fit(damper)
    if place is None:
        say(f"There is no fit beside {damper}: plans use the figures of the file.")
    else:
        say(f"{place} is removed: plans use the figures of {damper} again.")
    return 0


def _said(machine: str | None, clicks: Sequence[str], temperature: str | None) -> SaidOfFiles:
    from optimiser.files.dyno.facts import Facts
    from optimiser.files.dyno.reader import SaidOfFiles
    from optimiser.files.dyno.typed import clicks_typed, temperature_typed

    facts = Facts(clicks=clicks_typed(clicks), temperature=temperature_typed(temperature))
    return SaidOfFiles(machine=machine, facts=facts)
