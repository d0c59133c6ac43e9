"""``shimwright measured --json``: a measured build beside its promise, and the shop's record."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Literal

from optimiser.documents.common import Document
from optimiser.model.band_outcome import SURE, BandOutcome
from optimiser.spread.measured_record import MeasuredRecord

FORMAT: Final = "shimwright measured 1"


class BandOutcomeDocument(Document):
    """Average change of one band over the logarithm of velocity, promised and measured."""

    name: str
    role: Literal["target", "hold", "familiarity", "shown"]
    promised_percent: float
    promised_least_percent: float
    """19 in 20 are said to lie above this and below the next."""
    promised_most_percent: float
    measured_percent: float
    measured_plus_minus_percent: float
    """Of the measurement, 19 in 20."""
    inside: bool
    """Whether the measured change lies where it was said to."""
    share_of_band: float
    """That the runs reach."""


class MeasuredBuildDocument(Document):
    """A build that was measured."""

    job: str
    at: str
    """When it was written down, UTC."""
    bands: list[BandOutcomeDocument]


class RecordDocument(Document):
    """What the shop's measured builds say together."""

    builds: int
    bands_as_promised: int
    bands: int
    measured_over_promised: float | None
    """Null where no band was to move."""
    model_error_percent: float
    """Of a change: what the spread counts as the model's own error from now on."""


class MeasuredDocument(Document):
    """What was measured, and the record."""

    format: Literal["shimwright measured 1"] = FORMAT
    builds: list[MeasuredBuildDocument]
    notes: list[str]
    """Runs and bands that were left out, and why."""
    recorded: bool
    """Whether this call wrote to the record."""
    record: RecordDocument | None
    """Null before the first."""


def band_document(band: BandOutcome) -> BandOutcomeDocument:
    """One band for programs."""
    return BandOutcomeDocument(
        name=band.name,
        role=band.role.value,
        promised_percent=_percent(band.predicted),
        promised_least_percent=_percent(band.low),
        promised_most_percent=_percent(band.high),
        measured_percent=_percent(band.measured),
        measured_plus_minus_percent=round(100 * SURE * band.uncertainty, 3),
        inside=band.inside,
        share_of_band=round(band.share, 3),
    )


def record_document(record: MeasuredRecord | None) -> RecordDocument | None:
    """The record for programs."""
    if record is None:
        return None
    return RecordDocument(
        builds=record.builds,
        bands_as_promised=record.inside,
        bands=record.all_bands,
        measured_over_promised=None if math.isnan(record.ratio) else round(record.ratio, 3),
        model_error_percent=round(100 * record.uncertainty.of_the_change, 3),
    )


def measured_build_document(job: str, at: str, bands: Sequence[BandOutcome]) -> MeasuredBuildDocument:
    """A build for programs."""
    return MeasuredBuildDocument(job=job, at=at, bands=[band_document(band) for band in bands])


def _percent(logarithm: float) -> float:
    return round(100 * math.expm1(logarithm), 3)
