"""What ``shimwright resolution --json`` writes: the keys that other programs may rely on.

Keys are only ever added; ``format`` changes its number when one has to change its meaning.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from typing import Final, Literal

from pydantic import Field

from damping_model.units import MILLIMETRE
from optimiser.documents.common import Document
from optimiser.jobs.setup import JobSetup
from optimiser.model.band_result import mean_before
from optimiser.studies.refinement import Rung
from optimiser.studies.resolution import NEAR, BandSteps, Steps

FORMAT: Final = "shimwright resolution 1"


class BandStepsDocument(Document):
    """What one change does to a band; steps are average shifts of force, in percent of that before."""

    name: str
    role: Literal["target", "hold"]
    stroke: Literal["compression", "rebound"]
    average_before_n: float
    """Damping force at the shaft as it is, mean over the logarithm of velocity."""
    steps_percent: list[float]
    """Every step that one change makes, equal ones once."""
    held_steps_percent: list[float]
    """Those of them that keep every other band within its tolerance."""
    smallest_up_percent: float | None
    """Of the held steps; null when there is none."""
    smallest_down_percent: float | None
    mean_gap_percent: float
    """Mean width of the pieces into which zero and the held steps part the range near zero."""
    widest_gap_percent: float
    wanted_least_percent: float | None
    """Of the average change that the job asks of a target; null for a held band, as the next four."""
    wanted_most_percent: float | None
    nearest_below_percent: float | None
    """The nearest step short of that which keeps the held bands; null when there is none."""
    nearest_above_percent: float | None
    landing: int | None
    """Changes of one shim that lie in it and keep the held bands."""


class MoveDocument(Document):
    """A figure for one band."""

    band: str
    percent: float | None


class RungDocument(Document):
    """A stack of equal bending from another number of shims."""

    shims: int
    as_it_is: bool
    height_mm: float
    fits: bool
    """Whether the nut keeps its thread length."""
    listed: bool
    """Whether a search would list it; not so where oil would boil inside a band, and no force is promised."""
    thinnest_mm: float
    """As computed, of equal bending; not a thickness that is sold."""
    curve_moved: list[MoveDocument]
    """Largest change of each band's force against the stack as it is."""
    one_pull_elsewhere_percent: float | None
    """Largest change over the held bands when one shim is pulled: the median over all shims that bend."""
    one_pull_in_band: list[MoveDocument]
    """Size of each band's average shift when one shim is pulled: the median likewise."""


class ResolutionDocument(Document):
    """The whole answer."""

    format: Literal["shimwright resolution 1"] = FORMAT
    job: str
    damper: str
    stack_name: str
    status: Literal["complete", "interrupted", "time ran out"]
    changes_tried: int
    """Stacks one change away that rules, shelf and heights allow."""
    changes_that_meet: int
    """How many of them do all that the job asks, at the present clicks."""
    advice: list[str]
    """How the steps lie beside what the job asks and what would do, in sentences."""
    near_percent: float
    """Half of the range that the gaps are measured in."""
    bands: list[BandStepsDocument]
    rebuilt: list[RungDocument]
    picture: str | None
    """Path of the picture that was written."""
    others: list[ResolutionDocument] = Field(default_factory=list)
    """The same of every other stack, where a job names none."""


def resolution_document(
    setup: JobSetup,
    steps: Steps,
    ladder: Sequence[Rung],
    *,
    refused: Collection[int],
    advice: Sequence[str],
    ended: Literal["complete", "interrupted", "time ran out"],
    picture: str | None,
) -> ResolutionDocument:
    """The document of a stack's resolution.

    Parameters
    ----------
    setup : the job.
    steps : what single changes do.
    ladder : the stack rebuilt.
    refused : numbers of shims of rebuilds that a search would not list, since oil would boil inside a band.
    advice : how the steps lie beside what the job asks, in sentences.
    ended : how it ended.
    picture : path of the picture that was written.
    """
    names = [band.window.name for band in steps.bands]
    return ResolutionDocument(
        job=setup.job.title,
        damper=setup.job.damper.name,
        stack_name=setup.mounted.name,
        status=ended,
        changes_tried=steps.changes,
        changes_that_meet=steps.meeting,
        advice=list(advice),
        near_percent=100 * NEAR,
        bands=[_band(band) for band in steps.bands],
        rebuilt=[_rung(rung, names, listed=rung.shims not in refused) for rung in ladder],
        picture=picture,
    )


def _band(band: BandSteps) -> BandStepsDocument:
    around = band.around
    return BandStepsDocument.model_validate(
        {
            "name": band.window.name,
            "role": band.window.role.value,
            "stroke": "compression" if band.window.velocities[0] > 0 else "rebound",
            "average_before_n": round(mean_before(band.window), 3),
            "steps_percent": [_percent(step) for step in band.steps],
            "held_steps_percent": [_percent(step) for step in band.held],
            "smallest_up_percent": _percent(band.up),
            "smallest_down_percent": _percent(band.down),
            "mean_gap_percent": _percent(band.mean_gap),
            "widest_gap_percent": _percent(band.widest_gap),
            "wanted_least_percent": around and _percent(around.least),
            "wanted_most_percent": around and _percent(around.most),
            "nearest_below_percent": around and _percent(around.below),
            "nearest_above_percent": around and _percent(around.above),
            "landing": around and around.landing,
        }
    )


def _rung(rung: Rung, names: Sequence[str], *, listed: bool) -> RungDocument:
    return RungDocument(
        shims=rung.shims,
        as_it_is=rung.as_it_is,
        height_mm=round(rung.stack.height / MILLIMETRE, 4),
        fits=rung.fits,
        listed=listed,
        thinnest_mm=round(rung.thinnest / MILLIMETRE, 4),
        curve_moved=_moves(names, rung.moved),
        one_pull_elsewhere_percent=_percent(rung.pull),
        one_pull_in_band=_moves(names, rung.steps),
    )


def _moves(names: Sequence[str], shares: Iterable[float]) -> list[MoveDocument]:
    return [
        MoveDocument(band=name, percent=_percent(share)) for name, share in zip(names, shares, strict=True)
    ]


def _percent(share: float | None) -> float | None:
    return None if share is None or math.isnan(share) else round(100 * share, 4)
