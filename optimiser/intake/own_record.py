"""The first step for a symptom from what this shop has tried, once it has tried enough."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median
from typing import Final, Literal

from optimiser.intake.complaint import Symptom, Vocabulary
from optimiser.model.percent import percent_text

ENOUGH: Final = 5
"""Rides that were better before the shop's own record replaces the table; common practice, no source."""


@dataclass(frozen=True, slots=True)
class StepTaken:
    """What was done for a symptom, and what the rider said after the ride.

    Parameters
    ----------
    symptom : the row of the table.
    shift : how far the band moved, as a share of the force before. [-]
    outcome : the rider's word.
    """

    symptom: str
    shift: float
    outcome: Literal["better", "same", "worse"]


def with_own_record(
    vocabulary: Vocabulary, record: Sequence[StepTaken], *, enough: int = ENOUGH
) -> Vocabulary:
    """The table with first steps replaced by the middle of what helped here, where enough has helped.

    A replaced row says so in its reason, with the counts. Steps that helped by going the other
    way than the table count as well: the shop's own rides outweigh common practice.
    """
    return replace(vocabulary, symptoms=tuple(_learned(row, record, enough) for row in vocabulary.symptoms))


def _learned(row: Symptom, record: Sequence[StepTaken], enough: int) -> Symptom:
    ours = [step for step in record if step.symptom == row.name]
    helped = [step.shift for step in ours if step.outcome == "better" and step.shift != 0]
    if len(helped) < enough:
        return row
    shift = median(helped)
    if shift == 0:
        return row
    said = (
        f" First step from this shop's own record: {percent_text(shift, 0)}, the middle of "
        f"{len(helped)} rides "
        "that were better "
        f"({len(ours)} on record); the table says {percent_text(row.shift, 0)}."
    )
    return replace(row, shift=shift, reason=row.reason + said)
