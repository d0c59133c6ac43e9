"""``shimwright fit``: what runs on a dyno tell of a damper's figures, kept beside its file for plans."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

import click

from optimiser.cli.options import json_option, units_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from optimiser.files.dyno.reader import DynoSession
    from optimiser.fit.fit import Fit
    from optimiser.fit.next_run import RunAdvice
    from optimiser.model.damper_description import DamperDescription
    from optimiser.report.sheet import CurveLine

DOES_NOT_HOLD: Final = 3
"""Exit code of a fit that does not hold."""

INTERRUPTED: Final = 130

MOST_LINES: Final = 4
"""Curves of the fitted damper in a picture; with more settings only the first are drawn."""


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
        from optimiser.fit.posterior import StoppedError

        try:
            typed, session, fit, advice = _fitted(
                damper, runs, job, (machine, clicks, temperature), (show, should_stop)
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

    system = UnitSystem(units)
    against = words_against(fit.verdict, UnitSystem.METRIC)
    place = None
    if write and (fit.verdict.holds or even_so):
        used = {stretch.run.source for stretch in fit.sample.stretches}
        counts = {path: sum(run.source == str(path) for run in session.runs) for path in runs}
        kept = {path: count for path, count in counts.items() if str(path) in used and count}
        place = write_fit(damper, fit, runs=kept, day=date.today().isoformat(), against=against)
    written, fitted = _lines(typed, fit)
    if svg is not None:
        shown = [stretch.run for stretch in fit.sample.stretches]
        title = f"{typed.name}: measured and fitted"
        write_whole(svg, fit_svg(shown, typed=written, fitted=fitted, units=system, title=title))
    if as_json:
        document = fit_document(
            fit,
            against=against,
            advice=advice,
            written=None if place is None else str(place),
            picture=None if svg is None else str(svg),
        )
        say_json(document.model_dump_json(indent=2))
    else:
        console = terminal()
        print_fit(console, fit, lines=fitted, notes=session.notes, units=system)
        if advice is not None:
            print_advice(console, *advice, units=system)
        if svg is not None:
            say(f"Picture: {svg}")
        say(kept_words(place, damper, asked=write))
    return 0 if fit.verdict.holds else DOES_NOT_HOLD


def _forget(damper: Path) -> int:
    from optimiser.files.fit_file import place_beside
    from optimiser.files.reading import read_bytes

    read_bytes(damper, what="a damper file")
    place = place_beside(damper)
    if not place.is_file():
        say(f"There is no fit beside {damper}: plans use the figures of the file.")
        return 0
    try:
        place.unlink()
    except OSError as error:
        raise InputError(f"{place}: cannot be removed ({error.strerror}). Remove it by hand.") from None
    say(f"{place} is removed: plans use the figures of {damper} again.")
    return 0


def _fitted(
    damper: Path,
    files: Sequence[Path],
    job: Path | None,
    typed_in: tuple[str | None, Sequence[str], str | None],
    watch: tuple[Callable[[str], None], Callable[[], bool]],
) -> tuple[DamperDescription, DynoSession, Fit, tuple[RunAdvice, str] | None]:
    """The damper as typed, its runs, their fit, and which run a job would ask for next."""
    from optimiser.batch.job_to_sheet import free_to_plan
    from optimiser.cli.dyno_options import clicks_typed, temperature_typed
    from optimiser.files.damper_builder import read_typed_damper
    from optimiser.files.dyno.facts import Facts
    from optimiser.files.dyno.reader import SaidOfFiles, read_session
    from optimiser.fit.fit_runs import fit_runs
    from optimiser.jobs.run_for_job import run_for_job
    from optimiser.jobs.setup import set_up

    machine, clicks, temperature = typed_in
    show, should_stop = watch
    typed = read_typed_damper(damper)
    typed.refuse_what_cannot_be_built()
    session = read_session(
        files,
        said=SaidOfFiles(
            machine=machine,
            facts=Facts(clicks=clicks_typed(clicks), temperature=temperature_typed(temperature)),
        ),
        damper=typed.damper,
    )
    setup = None if job is None else set_up(free_to_plan(job)[0])
    fit = fit_runs(typed, session.runs, say=show, should_stop=should_stop)
    if setup is None:
        return typed, session, fit, None
    show("Which run would tell most")
    return typed, session, fit, run_for_job(typed, fit, setup, should_stop=should_stop)


def _lines(typed: DamperDescription, fit: Fit) -> tuple[CurveLine, list[CurveLine]]:
    """Curves of the damper as written and, for each setting of the runs, as fitted."""
    import numpy as np

    from damping_model.damper.force import force_curve
    from optimiser.documents.curve import POINTS, SLOWEST
    from optimiser.report.plan_sheet import curve_line
    from optimiser.unknowns.varied import varied

    best = varied(typed.damper, dict(zip(fit.knowledge.unknowns, fit.knowledge.mean.tolist(), strict=True)))
    fastest = float(np.abs(fit.sample.velocities).max())
    speeds = np.geomspace(min(SLOWEST, fastest / 2), fastest, POINTS)
    velocities = np.concatenate([-speeds[::-1], speeds])
    runs = {tuple(sorted(stretch.run.clicks.items())): stretch.run for stretch in fit.sample.stretches}
    written = curve_line("as written", force_curve(typed.damper, velocities=velocities))
    lines = []
    for clicks, run in list(runs.items())[:MOST_LINES]:
        setting = ", ".join(f"{name} {position} out" for name, position in clicks) or "as it stands"
        curve = force_curve(
            best.damper,
            velocities=velocities,
            temperature=run.temperature,
            clicks=run.clicks,
            steel=best.steel,
        )
        lines.append(curve_line(f"fitted: {setting}", curve))
    return written, lines
