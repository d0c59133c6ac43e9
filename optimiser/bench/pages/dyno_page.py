"""The dyno runs of a damper: a file is brought, what it says is shown and can be put right."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final

from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from damping_model.errors import ModelError
from optimiser.actions.dyno_beside import beside
from optimiser.bench.bench import Bench
from optimiser.bench.dyno_wishes import FIELDS, said_of, settled_of, wishes_of
from optimiser.bench.uploads import Upload
from optimiser.dyno.run import DynoRun
from optimiser.errors import InputError, ShimwrightError
from optimiser.files.damper_builder import read_damper
from optimiser.files.dyno.machine_file import machines_of
from optimiser.files.dyno.reader import DynoSession, read_session
from optimiser.files.instruments.instrument_text import LARGEST
from optimiser.files.reading import read_bytes
from optimiser.files.writing import write_new_bytes
from optimiser.intake.brackets import adjusters_of
from optimiser.model.damper_description import DamperDescription
from optimiser.report.dyno_text import cells_of, heading, rows_of
from optimiser.report.in_units import in_units
from optimiser.report.measured_points import measured_points
from optimiser.report.plain_curves import curves_svg
from optimiser.report.sheet import CurveLine

FOLDER: Final = "dyno"
"""Of the shop, where runs lie."""

FILE: Final = re.compile(r"[A-Za-z0-9\u00c0-\u024f][A-Za-z0-9\u00c0-\u024f _-]{0,59}\.csv")
MOST_FILES: Final = 12
MOST_NAMES: Final = 100
MOST_ROWS: Final = 400
"""Points that are listed."""


def files_there(bench: Bench) -> dict[str, Path]:
    """The files of runs in the shop's folder, by name."""
    return {
        path.name: path for path in sorted((bench.shop / FOLDER).glob("*.csv")) if FILE.fullmatch(path.name)
    }


def show(bench: Bench, request: Request) -> Response:
    """The page."""
    name, path = bench.damper(request)
    described, asked = read_damper(path), request.query_params
    there = files_there(bench)
    wanted = asked.getlist("file")[:MOST_FILES]
    if not set(wanted) <= set(there):
        raise InputError(f"file: got {wanted[0][:60]!r}, expected files in the shop's folder {FOLDER}.")
    found, fault = None, ""
    if wanted:
        key = hashlib.sha256(str(asked).encode()).hexdigest()
        try:
            found = bench.kept(
                ("dyno", name, key), lambda: _read(bench, described, [there[one] for one in wanted], asked)
            )
        except (ShimwrightError, ModelError) as error:
            fault = str(error)
    return bench.page(
        request,
        "dyno.jinja",
        name=name,
        called=described.name,
        files=list(there),
        wanted=wanted,
        found=found,
        fault=fault,
        fields=FIELDS,
        asked={one: asked.get(one, "") for one in (*(field.name for field in FIELDS), "columns", "machine")},
        said=wishes_of(asked, adjusters_of(described.damper)),
        adjusters=[(one, asked.get(f"click {one.name}", "")) for one in adjusters_of(described.damper)],
        machines=[machine for machine, _ in machines_of(bench.shop / FOLDER / "any.csv")],
        changed=any(value for key, value in asked.items() if key not in {"file", "note"}),
    )


def _read(
    bench: Bench, described: DamperDescription, paths: Sequence[Path], asked: QueryParams
) -> dict[str, Any]:
    """What files say, with what a person says of them."""
    session = read_session(
        paths,
        settled=settled_of(asked),
        said=said_of(asked, adjusters_of(described.damper)),
        damper=described.damper,
    )
    lines, slips = beside(described, session.runs)
    alike = [note for note in session.runs[0].notes if all(note in run.notes for run in session.runs)]
    return {
        "notes": [in_units(_short(bench, note), bench.units) for note in session.notes],
        "slips": [in_units(note, bench.units) for note in slips],
        "runs": [
            {
                "heading": _short(bench, heading(run, bench.units)),
                "notes": [in_units(note, bench.units) for note in run.notes if note not in alike],
            }
            for run in session.runs
        ],
        "alike": [in_units(note, bench.units) for note in alike],
        "curves": _curves(bench, session, lines),
        "lines": [line.name.removeprefix(f"{described.name}, ") for line in lines],
        "rows": list(_rows(bench, session.runs)),
        "left": [
            part
            for part, known in (
                ("gas", all(run.gas is not None for run in session.runs)),
                ("friction", all(run.friction is not None for run in session.runs)),
            )
            if not known
        ],
    }


def _short(bench: Bench, words: str) -> str:
    """Words without the way to the shop's folder, which guests need not know."""
    return words.replace(f"{bench.shop}/", "")


def _curves(bench: Bench, session: DynoSession, lines: Sequence[CurveLine]) -> Any:
    measured = measured_points(session.runs)
    return curves_svg(lines or measured, (), units=bench.units, name="dyno", measured=measured)


def _rows(bench: Bench, runs: Sequence[DynoRun]) -> Iterator[list[str]]:
    left = MOST_ROWS
    for run in runs:
        for both in rows_of(run, peaks=True):
            point = both[0] or both[1]
            if point is None or not left:
                continue
            left -= 1
            speed = bench.units.velocity_text(abs(point.velocity))
            yield [
                run.name,
                speed,
                *cells_of(run, both[0], bench.units),
                *cells_of(run, both[1], bench.units),
            ]


def bring(bench: Bench, request: Request) -> Response:
    """Put a file that was brought into the shop's folder, under a name that is free."""
    name, _ = bench.damper(request)
    upload: Upload = request.scope["upload"]
    if not upload.data.strip():
        raise InputError("file: got an empty one, expected runs of a dyno. Choose the file first.")
    place, known = _place(bench, upload)
    if not known:
        place.parent.mkdir(exist_ok=True)
        try:
            write_new_bytes(place, upload.data)
        except FileExistsError:
            raise InputError(f"{place.name}: somebody else brought a file of that name just now.") from None
    said = (
        "was there already" if known else "is in the shop's folder; if it is the wrong one, take it out there"
    )
    return bench.on(
        f"/dampers/{name}/runs?file={place.name.replace(' ', '+')}", f"{FOLDER}/{place.name} {said}."
    )


def _place(bench: Bench, upload: Upload) -> tuple[Path, bool]:
    """Where a file goes, and whether the very same is there already."""
    last = upload.name.replace("\\", "/").rpartition("/")[2]
    stem = re.sub(r"[^A-Za-z0-9\u00c0-\u024f _-]", "_", last.rpartition(".")[0] or last).strip(" _-")[:50]
    stem = stem or "runs"
    for number in range(1, MOST_NAMES):
        place = bench.shop / FOLDER / f"{stem}{'' if number == 1 else f'-{number}'}.csv"
        if not place.exists():
            return place, False
        if read_bytes(place, what="a file of dyno runs", largest=LARGEST) == upload.data:
            return place, True
    raise InputError(f"file: got {stem!r} too often, expected a name that is free. Give it another name.")


def routes(bench: Bench) -> list[Route]:
    """The addresses of dyno runs."""
    return [
        Route("/dampers/{damper}/runs", lambda request: show(bench, request)),
        Route("/dampers/{damper}/runs/bring", lambda request: bring(bench, request), methods=["POST"]),
    ]
