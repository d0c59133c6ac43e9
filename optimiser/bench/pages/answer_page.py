"""The answer to a job: the ladder of effort, the candidates side by side, and reserving one of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from optimiser.actions.reserving import reserve_candidate
from optimiser.bench.bench import Bench, NothingThereError, form_of, whole_number
from optimiser.bench.pages.stack_drawings import drawn_pair, stack_of_document
from optimiser.bench.pages.wheel_drawings import wheel_at
from optimiser.bench.search_folder import SearchFolder, seen_of
from optimiser.bench.work_folder import SearchState
from optimiser.documents.effort_step import EffortStepDocument
from optimiser.documents.plan import BandDocument, CandidateDocument, PlanDocument
from optimiser.documents.sure import SureDocument
from optimiser.errors import InputError
from optimiser.files.job_reader import read_job
from optimiser.files.writing import write_whole
from optimiser.ledger.builds import open_build
from optimiser.ledger.errors import LedgerError
from optimiser.ledger.levels import shelf_levels
from optimiser.model.goal import Role
from optimiser.model.percent import TRUE_MINUS, percent_text
from optimiser.model.stock import ShimKey
from optimiser.report.band_rows import marks
from optimiser.report.band_table import range_text
from optimiser.report.candidates import aimed_text
from optimiser.report.ladder_text import effort_words
from optimiser.report.plain_axes import PlotBand
from optimiser.report.plain_changes import changes_svg
from optimiser.report.plain_curves import curves_svg
from optimiser.report.sheet import CurveLine
from optimiser.report.sure_text import WHAT_DRAWN, chance_text

MOST_LINES = 5
"""Candidates whose curves are drawn: more lines than this nobody tells apart."""

SHEET_FENCE = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; form-action 'none'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
"""A sheet has its style inside, and neither script nor form."""


def show(bench: Bench, request: Request) -> Response:
    """The page of an answer."""
    name, path = bench.job(request)
    folder = bench.searches.of(name)
    if folder.state is not SearchState.DONE:
        return bench.on(f"/jobs/{name}#search")
    plan = folder.plan()
    letters = _letters(plan)
    mounted = bench.subject(path).mounted
    listed = plan.candidates or ([plan.nearest] if plan.nearest else [])
    free = _free(bench)
    wheel = wheel_at(bench, folder.wheel(), steps=len(plan.ladder), candidates=len(listed))
    cards = [
        _card(bench, one, letters, free)
        | {
            "drawn": None if mounted is None else drawn_pair(mounted, stack_of_document(one.stack)),
            "wheel": None if wheel is None or not wheel.candidates else wheel.candidates[place],
        }
        for place, one in enumerate(listed)
    ]
    return bench.page(
        request,
        "answer.jinja",
        name=name,
        plan=plan,
        advice=[_without_command(words) for words in plan.advice],
        cards=cards,
        letters=letters,
        ladder=[_step(bench, step, letters) for step in plan.ladder],
        all_curves=_all_curves(bench, folder, plan),
        wheel=wheel,
        stale=folder.asked().seen != seen_of(path),
        what_drawn=WHAT_DRAWN,
        nearest=not plan.candidates,
        books=bench.has_ledger,
        open=_open(bench, name),
    )


def _without_command(words: str) -> str:
    """Advice as a page gives it, where nobody types commands: the goal is a form here."""
    told, command, _ = words.partition(": shimwright ")
    return f"{told}." if command else words


def _open(bench: Bench, name: str) -> Any:
    if not bench.has_ledger:
        return None
    with bench.looking() as ledger:
        return open_build(ledger, name)


def _free(bench: Bench) -> dict[ShimKey, int] | None:
    """What is free on the shelf now; None where no books are kept."""
    if not bench.has_ledger:
        return None
    with bench.looking() as ledger:
        return {level.key: level.free for level in shelf_levels(ledger)}


def _letters(plan: PlanDocument) -> dict[str, str]:
    first = plan.candidates[0] if plan.candidates else plan.nearest
    names = [] if first is None else [band.name for band in first.bands]
    return dict(zip(dict.fromkeys(names), marks(), strict=False))


def _step(bench: Bench, step: EffortStepDocument, letters: dict[str, str]) -> dict[str, Any]:
    """One step of effort as the table has it."""
    worst = max(step.bands, key=lambda band: band.missed_by_points, default=None)
    verdict = "in range"
    if not step.in_range and worst is not None:
        force = f"{bench.units.force_text(worst.missed_by_n)} {bench.units.force_unit}"
        verdict = f"out in {letters.get(worst.name, '?')} by {worst.missed_by_points:.2g} points, {force}"
    return {
        "effort": effort_words(step.number_of_changes),
        "opens": "stays closed" if step.opens is None else f"opens the {step.opens}",
        "bands": [
            {
                "mark": letters.get(band.name, ""),
                "name": band.name,
                "mean": percent_text(band.average_percent / 100),
                "least": percent_text(band.least_percent / 100),
                "most": percent_text(band.most_percent / 100),
                "verdict": band.verdict,
            }
            for band in step.bands
        ],
        "aimed": aimed_text(step.aimed),
        "verdict": verdict,
        "in_range": step.in_range,
        "proven": step.proven,
        "chance": "" if step.sure is None else chance_text(step.sure.chance),
    }


def _card(
    bench: Bench,
    one: CandidateDocument,
    letters: dict[str, str],
    free: dict[ShimKey, int] | None,
) -> dict[str, Any]:
    """One candidate as its card shows it."""
    units = bench.units
    return {
        "rank": one.rank,
        "steps": one.steps,
        "adjusters": one.adjusters,
        "bands": [_band(bench, band, letters, one.sure) for band in one.bands],
        "chance": "" if one.sure is None else chance_text(one.sure.chance),
        "carriers": [] if one.sure is None else one.sure.carriers[:3],
        "height": units.length_text(one.height_mm / 1000),
        "height_change": f"{one.height_change_mm:+.2f} mm".replace("-", TRUE_MINUS),
        "aimed": aimed_text(one.aimed),
        "elsewhere": percent_text(one.change_elsewhere_percent / 100),
        "way": one.way,
        "more": one.more_like_it,
        "objection": one.objection,
        "stress": one.stress,
        "shelf": [
            {
                "words": f"{shim.count} of {shim.outer_diameter_mm:g}x{shim.thickness_mm:.2f}",
                "drawer": shim.drawer,
                "of": shim.of,
                "readings": shim.readings_mm,
                "short": free is not None and free.get(_key(shim), 0) < shim.count,
            }
            for shim in one.from_shelf
        ],
    }


def _key(shim: Any) -> ShimKey:
    return ShimKey.from_millimetres(
        outer=shim.outer_diameter_mm, thickness=shim.thickness_mm, inner=shim.inner_diameter_mm
    )


def _band(
    bench: Bench, band: BandDocument, letters: dict[str, str], sure: SureDocument | None
) -> dict[str, Any]:
    spread = None if sure is None else next((one for one in sure.bands if one.name == band.name), None)
    units = bench.units
    limits = [band.average_least_percent, band.average_most_percent]
    return {
        "mark": letters[band.name],
        "name": band.name,
        "role": band.role,
        "where": f"{band.stroke}, {units.span_text(min(band.velocities_m_s), max(band.velocities_m_s))}",
        "before": units.force_text(band.average_before_n),
        "after": units.force_text(band.average_after_n),
        "change": percent_text(band.average_percent / 100),
        "allowed": ""
        if None in limits
        else " to ".join(percent_text(one / 100) for one in limits if one is not None),
        "sure": ""
        if spread is None
        else range_text(spread.average_low_percent / 100, spread.average_high_percent / 100),
        "verdict": band.verdict,
    }


def _lines(folder: SearchFolder, wanted: Sequence[tuple[int, str]]) -> list[CurveLine]:
    """Curves that the search kept, by their places."""
    kept = folder.drawn().get("curves", [])
    return [
        CurveLine(
            label,
            tuple(kept[place]["velocities_m_s"]),
            tuple(kept[place]["forces_n"]),
            kept[place]["promised_to_m_s"],
        )
        for place, label in wanted
        if place < len(kept)
    ]


def _all_curves(bench: Bench, folder: SearchFolder, plan: PlanDocument) -> Any:
    """What every candidate changes, and their curves over one another."""
    listed = plan.candidates or ([plan.nearest] if plan.nearest else [])
    if not listed:
        return ()
    named = [(place, f"candidate {place}") for place in range(1, min(len(listed), MOST_LINES) + 1)]
    lines = _lines(folder, [(0, "as it is"), *named])
    if len(lines) < 2:
        return ()
    bands = _plot_bands(listed[0].bands, _letters(plan))
    return (
        *changes_svg(lines, bands, units=bench.units, name="all-changes"),
        *curves_svg(lines, bands, units=bench.units, name="all"),
    )


def _plot_bands(bands: Sequence[BandDocument], letters: dict[str, str]) -> list[PlotBand]:
    found = []
    for band in bands:
        if band.role == "familiarity":
            continue
        points = sorted(zip(band.velocities_m_s, band.least_n, band.most_n, strict=True))
        speeds, least, most = (tuple(values) for values in zip(*points, strict=True))
        found.append(
            PlotBand(
                mark=letters[band.name],
                name=band.name,
                role=Role(band.role),
                stroke=band.stroke,
                speeds=speeds,
                least=least,
                most=most,
            )
        )
    return found


def sheet(bench: Bench, request: Request) -> Response:
    """The build sheet of a candidate: what the books keep of a build, else that of the plan."""
    name, _ = bench.job(request)
    rank = str(request.path_params["rank"])
    if not rank.isdecimal() or len(rank) > 3:
        raise NothingThereError("got no candidate of that number, expected one of the plan's.")
    standing = _open(bench, name)
    kept = standing.sheet if standing is not None and standing.pick == int(rank) else ""
    text = kept or bench.searches.of(name).sheet(int(rank))
    return HTMLResponse(text, headers={"content-security-policy": SHEET_FENCE})


def build(bench: Bench, request: Request) -> Response:
    """Reserve a candidate's shims for its job, and put its sheet beside the job's file."""
    name, path = bench.job(request)
    folder = bench.searches.of(name)
    pick = whole_number(form_of(request), "pick", least=1, most=200)
    if folder.state is not SearchState.DONE:
        raise InputError("build: got a job without an answer, expected one. Search first.")
    if folder.asked().seen != seen_of(path):
        raise InputError("build: the job's file has changed since this answer. Search again, then choose.")
    text = folder.sheet(pick)
    with bench.changing() as ledger:
        try:
            reserve_candidate(ledger, read_job(path), folder.plan(), pick=pick, sheet=text)
        except LedgerError as error:
            return bench.on(f"/jobs/{name}/answer", str(error), bad=True)
    write_whole(path.with_suffix(".html"), text)
    return bench.on(f"/jobs/{name}", f"Candidate {pick} is reserved. Print its sheet, and build.")


def routes(bench: Bench) -> list[Route]:
    """The addresses of an answer."""
    return [
        Route("/jobs/{job}/answer", lambda request: show(bench, request)),
        Route("/jobs/{job}/sheet/{rank}", lambda request: sheet(bench, request)),
        Route("/jobs/{job}/build", lambda request: build(bench, request), methods=["POST"]),
    ]
