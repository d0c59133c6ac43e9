"""A fit as it is kept beside its damper's file: ``tarn_shock.toml`` has ``tarn_shock.fit.toml``."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Final, Literal

import numpy as np
from pydantic import Field

from damping_model.stack.stack import Stack
from optimiser.errors import InputError
from optimiser.files.base import FileModel, read_toml
from optimiser.files.damper_file import DamperFile
from optimiser.files.entry.toml_written import toml_text
from optimiser.files.instruments.instrument_text import LARGEST
from optimiser.files.reading import read_bytes
from optimiser.files.stack_text import shims_from_lines
from optimiser.files.writing import write_whole
from optimiser.fit.fit import Fit
from optimiser.unknowns.unknown import Owner

FORMAT: Final = "shimwright fit 1"

HEAD: Final = """# What runs on a dyno told of {damper}, written by 'shimwright fit'. Plans use it beside the
# damper's file, which stays as it was typed. To take it back: shimwright fit {path} --forget
"""

Draw = Annotated[float, Field(ge=-10, le=10)]


class FitRunFile(FileModel):
    """A file of runs that was fitted to."""

    file: Annotated[str, Field(max_length=1000)]
    """From this file's folder, or from the root."""
    sha256: Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
    runs: Annotated[int, Field(ge=1)]


class FittedStack(FileModel):
    """A stack that was in the damper on the dyno, as its file listed it."""

    name: Annotated[str, Field(max_length=200)]
    shims: Annotated[list[str], Field(max_length=200)]


class FittedFigure(FileModel):
    """One figure, in standard deviations of what was known of it before."""

    of: Literal["path", "damper", "oil", "steel", "shims in the damper"]
    """What it belongs to."""
    part: Annotated[str, Field(max_length=200)] = ""
    """Name of the path."""
    figure: Annotated[str, Field(max_length=60)]
    uncertainty: Annotated[float, Field(gt=0)]
    """One standard deviation: of a factor's logarithm, or of a shift in SI."""
    label: Literal["identified", "one-sided", "flat"]
    draw: Draw
    """Where it stands by the runs."""
    low: Draw
    high: Draw
    """Ends of its 95 % interval."""
    for_plans: Draw
    """Where it stands in a plan's damper; of shims it says how thick those of a nominal thickness count."""


class FitFile(FileModel):
    """A fit."""

    format: Literal["shimwright fit 1"]
    damper: str
    fitted_on: Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")]
    damper_figures: Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
    """Of the figures in the damper's file but shims and clicks: with others the fit is stale."""
    shims: Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
    """Of the stacks that were in the damper on the dyno."""
    against: str = ""
    """What speaks against the fit; empty when nothing does."""
    discrepancy_percent: Annotated[float, Field(ge=0, le=100)]
    """How large a part of the force no figure explains, before a run: one standard deviation."""
    covariance: Annotated[list[list[float]], Field(max_length=200)]
    """Of the draws, row by row, up to the diagonal."""
    run_file: Annotated[list[FitRunFile], Field(min_length=1, max_length=200)]
    figure: Annotated[list[FittedFigure], Field(min_length=1, max_length=200)]
    stack: Annotated[list[FittedStack], Field(max_length=50)] = Field(default_factory=list)
    """The stacks themselves: of shims that are still in the damper, what the runs told stays known."""


def place_beside(damper: Path) -> Path:
    """Where the fit of a damper's file is kept."""
    return damper.with_name(f"{damper.stem}.fit.toml")


def figures_of(file: DamperFile) -> str:
    """Fingerprint of the figures that a fit rests on: all of the file but shims, clicks and assembly."""
    tables = file.model_dump(mode="json", exclude_defaults=True)
    tables.pop("assembly", None)
    for valve in tables["valve"]:
        for stack in valve.get("stack", ()):
            stack.pop("shims", None)
        for clicker in valve.get("clicker", ()):
            clicker.pop("clicks_out", None)
    return _sha(tables)


def shims_of(file: DamperFile) -> str:
    """Fingerprint of the stacks that a damper's file lists."""
    return _sha([[stack.name, stack.shims] for valve in file.valve for stack in valve.stack])


def stacks_on_the_dyno(fit: FitFile, file: DamperFile) -> tuple[Stack, ...] | None:
    """The stacks that a fit was made with; None where its file is an older one, which does not tell.

    Parameters
    ----------
    fit : the fit.
    file : of the damper, with the same places for stacks.

    Raises
    ------
    InputError
        When they are none.
    """
    holes = {stack.name: stack.hole_mm for valve in file.valve for stack in valve.stack}
    if not fit.stack or {one.name for one in fit.stack} != set(holes):
        return None
    try:
        return tuple(
            Stack(tuple(key.shim for key in shims_from_lines(one.shims, hole_mm=holes[one.name])))
            for one in fit.stack
        )
    except ValueError as error:
        raise InputError(f"stack: {error} Make the fit again: it is not written by hand.") from None


def sha256_of(path: Path) -> str:
    """Fingerprint of a file of runs, which may be as large as one that is read.

    Raises
    ------
    InputError
        When it cannot be read.
    """
    data = read_bytes(path, what="a file of dyno runs", largest=LARGEST)
    return hashlib.sha256(data).hexdigest()


def _sha(value: Any) -> str:
    return hashlib.sha256(json.dumps(value, sort_keys=True).encode()).hexdigest()


def read_fit(path: Path) -> FitFile:
    """Read a fit.

    Raises
    ------
    InputError
        Naming file, line and field, when it is none.
    """
    found = read_toml(path, FitFile, what="fit")
    count = len(found.figure)
    if [len(row) for row in found.covariance] != list(range(1, count + 1)):
        raise InputError(
            f"{path}: covariance: got rows of {[len(row) for row in found.covariance]} figures, expected "
            f"1, 2 ... {count}. Make the fit again: it is not written by hand."
        )
    return found


def covariance_of(file: FitFile) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Covariance of the draws, whole (figures, figures). [-]"""
    count = len(file.figure)
    found = np.zeros((count, count))
    for row, values in enumerate(file.covariance):
        found[row, : row + 1] = values
        found[: row + 1, row] = values
    return found


def fit_text(damper: Path, fit: Fit, *, runs: Mapping[Path, int], day: str, against: str) -> str:
    """A fit as it is kept beside its damper's file.

    Parameters
    ----------
    damper : the damper's file, which stays as it is.
    fit : what runs told.
    runs : files of runs, each with how many were used of it.
    day : on which it is made, as 2026-03-31.
    against : what speaks against it, in words; empty when nothing does.

    Raises
    ------
    InputError
        When the damper's file or one of the runs cannot be read.
    """
    file = read_toml(damper, DamperFile, what="damper")
    place = place_beside(damper)
    lower = [
        [float(value) for value in row[: number + 1]] for number, row in enumerate(fit.knowledge.covariance)
    ]
    tables = {
        "format": FORMAT,
        "damper": fit.damper,
        "fitted_on": day,
        "damper_figures": figures_of(file),
        "shims": shims_of(file),
        "against": against,
        "discrepancy_percent": 100 * fit.discrepancy.size,
        "covariance": lower,
        "run_file": [
            {"file": _named(path, place), "sha256": sha256_of(path), "runs": count}
            for path, count in runs.items()
        ],
        "figure": [_figure(fit, number) for number in range(len(fit.estimates))],
        "stack": [
            {"name": stack.name, "shims": stack.shims} for valve in file.valve for stack in valve.stack
        ],
    }
    return toml_text(tables, head=HEAD.format(damper=fit.damper, path=damper))


def write_fit(damper: Path, fit: Fit, *, runs: Mapping[Path, int], day: str, against: str) -> Path:
    """Keep a fit beside its damper's file, in place of an earlier one.

    Parameters
    ----------
    damper, fit, runs, day, against : as of :func:`fit_text`.

    Raises
    ------
    InputError
        When it cannot be written; what was there is as it was.
    """
    place = place_beside(damper)
    write_whole(place, fit_text(damper, fit, runs=runs, day=day, against=against))
    return place


def _named(path: Path, place: Path) -> str:
    """A file as it is found from the fit's folder; from the root when it lies elsewhere altogether."""
    try:
        return Path(os.path.relpath(path.resolve(), place.parent.resolve())).as_posix()
    except ValueError:
        return path.resolve().as_posix()


def _figure(fit: Fit, number: int) -> dict[str, Any]:
    estimate = fit.estimates[number]
    unknown = estimate.unknown
    owner = (
        {"of": unknown.owner.value}
        if isinstance(unknown.owner, Owner)
        else {"of": "path", "part": unknown.owner}
    )
    return owner | {
        "figure": unknown.figure,
        "uncertainty": float(unknown.uncertainty),
        "label": estimate.label.value,
        "draw": estimate.draw,
        "low": estimate.low,
        "high": estimate.high,
        "for_plans": float(fit.for_plans[number]),
    }
