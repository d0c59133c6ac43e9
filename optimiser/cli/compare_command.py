"""``shimwright compare``: what if. Stacks, clicks, oils and dampers laid over one another."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

import click

from optimiser.cli.options import as_found_option, json_option, units_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError

if TYPE_CHECKING:
    from optimiser.jobs.what_if import WhatIf

MOST_CASES: Final = 12
"""More lines than this nobody can tell apart."""


@click.command("compare")
@click.argument("what", type=click.Path(path_type=Path))
@click.argument("others", nargs=-1, type=click.Path(path_type=Path))
@click.option("--stack", "stack", help="The stack that is meant; the job's own when left out.")
@click.option(
    "--try", "tries", multiple=True, metavar="SHIMS",
    help='A change, "out 20x0.10, in 18x0.15", or a whole stack as you write it; with a name: "softer=...".',
)  # fmt: skip
@click.option(
    "--read", "texts", multiple=True, type=click.Path(path_type=Path, dir_okay=False),
    help="A stack in its place, read from a text file.",
)  # fmt: skip
@click.option(
    "--plan", type=click.Path(path_type=Path, dir_okay=False),
    help="Candidates in its place, from what plan --json wrote.",
)  # fmt: skip
@click.option(
    "--pick", "picks", type=click.IntRange(min=1), multiple=True, help="With --plan: which; all if left out."
)
@click.option(
    "--clicks", "settings", multiple=True, metavar="NAME=N,N", help="And a clicker at other positions."
)
@click.option("--celsius", "warmths", metavar="N,N", help="And the oil at other temperatures.")
@click.option(
    "--oil", "oils", multiple=True, metavar="OIL",
    help='And other oil: "VG 15", "16.1@40 3.9@100" (mm2/s at Celsius), or the oil of a damper file.',
)  # fmt: skip
@click.option(
    "--band", "bands", multiple=True, metavar="NAME=LOW-HIGH", help="Bands of your own, m/s, in both strokes."
)
@click.option(
    "--each-shim", "each", is_flag=True, help="What each shim of the stack does: one out, one more."
)
@click.option(
    "--to",
    "fastest",
    type=click.FloatRange(0.05, 10),
    default=2.0,
    show_default=True,
    help="Fastest drawn, m/s.",
)
@click.option("--page", type=click.Path(path_type=Path, dir_okay=False), help="Where to write the page.")
@as_found_option
@units_option
@json_option
def command(
    what: Path,
    others: tuple[Path, ...],
    stack: str | None,
    tries: tuple[str, ...],
    texts: tuple[Path, ...],
    plan: Path | None,
    picks: tuple[int, ...],
    settings: tuple[str, ...],
    warmths: str | None,
    oils: tuple[str, ...],
    bands: tuple[str, ...],
    each: bool,
    fastest: float,
    page: Path | None,
    as_found: bool,
    units: Literal["metric", "imperial"],
    as_json: bool,
) -> None:
    """Ask "what if" of a job or a damper, and see the change in every band.

    WHAT is a job or a damper file, OTHERS are more dampers. The first, as it stands, is what the rest is
    measured against: every stack and damper, at every clicks, oil and temperature asked for. A job brings its
    own bands with what they allow; a damper is looked at in low, mid and high speed of both strokes.
    Nothing is searched and nothing is reserved. The page goes beside WHAT unless --page says where.

    Example: shimwright compare jobs/a_more_support.toml --try "out 20x0.10" --clicks "rebound=5"

    Example: shimwright compare dampers/tarn_shock.toml dampers/dunnock_shock.toml --celsius 60

    Example: shimwright compare jobs/a_more_support.toml --each-shim
    """
    from optimiser.actions.compare_cases import cases_of
    from optimiser.actions.compare_subject import subject_of
    from optimiser.cli.oddities import say_oddities
    from optimiser.cli.watching import watched
    from optimiser.documents.plan_reader import read_plan
    from optimiser.files.base import read_text

    if picks and plan is None:
        raise InputError("--pick: got it without --plan, expected both: which plan's candidates are meant?")
    with watched("Reading the damper and computing") as (_, should_stop):
        from optimiser.documents.compare import compare_document
        from optimiser.files.writing import write_whole
        from optimiser.jobs.what_if import compare
        from optimiser.report.compare_page import compare_html
        from optimiser.report.compare_text import print_comparison
        from optimiser.report.console import terminal
        from optimiser.report.each_shim_text import print_each_shim
        from optimiser.report.unit_system import UnitSystem

        if plan is not None and stack is None:
            stack = read_plan(read_text(plan, what="plan"), name=str(plan)).stack_name
        subject = subject_of(
            what,
            stack=stack,
            as_found=as_found,
            bands=bands,
            stack_needed=bool(tries or texts or plan or each),
            notice=say_oddities,
        )
        cases = cases_of(
            subject, others, tries=tries, texts=texts, plan=plan, picks=picks,
            settings=settings, warmths=warmths, oils=oils, notice=say_oddities,
        )  # fmt: skip
        _refuse_a_crowd(cases)
        found = compare(cases, goal=subject.goal, bands=subject.bands, fastest=fastest)
        shims = subject.each_shim(found.goal) if each else ()
        if should_stop():
            raise click.Abort
    system = UnitSystem(units)
    faults, minds = [subject.faults(case) for case in cases], [subject.minds(case) for case in cases]
    place = page or subject.page(each=each)
    text = compare_html(found, title=subject.title, faults=faults, minds=minds, shims=shims, units=system)
    write_whole(place, text)
    if as_json:
        document = compare_document(
            found, title=subject.title, faults=faults, minds=minds, shims=shims, page=str(place)
        )
        say_json(document.model_dump_json(indent=2))
        return
    console, drawn = terminal(), len(cases) > 1 or not each
    print_comparison(
        console, found, title=subject.title, faults=faults, minds=minds, units=system, drawn=drawn
    )
    if subject.mounted is not None and shims:
        hole = round(1e6 * subject.mounted.mounting.hole_diameter)
        print_each_shim(console, shims, found.goal, hole=hole, stock=subject.stock)
    say(f"Page: {place}")


def _refuse_a_crowd(cases: list[WhatIf]) -> None:
    if len(cases) > MOST_CASES:
        raise InputError(
            f"got {len(cases)} stacks, clicks, oils and temperatures in all, expected at most {MOST_CASES}. "
            "Ask for fewer at a time."
        )
