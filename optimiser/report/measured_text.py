"""A measured build beside its promise, and the shop's record of both, for the terminal."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from optimiser.model.band_outcome import SURE, BandOutcome
from optimiser.model.percent import percent_text
from optimiser.spread.measured_record import MeasuredRecord

WIDTH: Final = 49
"""Letters that a band's drawing is wide."""


def print_outcome(console: Console, bands: Sequence[BandOutcome]) -> None:
    """A line a band: what was promised, what was measured; and the same drawn."""
    table = Table(
        title="Average change of the damping force, promised and measured", box=SIMPLE_HEAD, pad_edge=False
    )
    for head in ("Band", "Promised (19 in 20)", "Measured", ""):
        table.add_column(head, justify="left" if head in {"Band", ""} else "right")
    for band in bands:
        ends = f"({_bare(band.low)} to {_bare(band.high)})"
        measured = f"{_percent(band.measured)} ± {100 * SURE * band.uncertainty:.1f}"
        table.add_row(band.name, f"{_percent(band.predicted)} {ends}", measured, verdict(band))
    console.print(table)
    for line in drawing(bands):
        console.out(line, highlight=False)


def verdict(band: BandOutcome) -> str:
    """Whether the dyno showed what was promised, in words."""
    if band.inside:
        return "as promised"
    return "more than promised" if band.error > 0 else "less than promised"


def drawing(bands: Sequence[BandOutcome]) -> Iterator[str]:
    """Each band on one scale: ``[ ]`` what was promised, ``-*-`` what was measured, both 19 in 20."""
    ends = [value for band in bands for value in (band.low, band.high, *_measured(band), 0.0)]
    least, most = min(ends), max(ends)
    room = 0.06 * (most - least) or 0.01
    least, most = least - room, most + room
    name = max(len(band.name) for band in bands)

    def place(value: float) -> int:
        return round((value - least) / (most - least) * (WIDTH - 1))

    for band in bands:
        letters = [" "] * WIDTH
        least_measured, _, most_measured = map(place, _measured(band))
        letters[least_measured : most_measured + 1] = "-" * (most_measured + 1 - least_measured)
        letters[place(0.0)] = "|"
        letters[place(band.low)], letters[place(band.high)] = "[", "]"
        letters[place(band.measured)] = "*"
        yield f"{band.name:<{name}}  {''.join(letters)}"
    yield f"{'':<{name}}  [ ] promised, -*- measured, either 19 in 20; | no change"


def record_sentences(record: MeasuredRecord) -> Iterator[str]:
    """What the shop's measured builds say together."""
    builds = "build" if record.builds == 1 else "builds"
    yield (
        f"{record.builds} {builds} measured: {record.inside} of {record.all_bands} bands as promised, where "
        "19 in 20 are expected."
    )
    if record.bands and not math.isnan(record.ratio):
        yield (
            f"The dyno showed {record.ratio:.2f} of the change that was promised, give or take "
            f"{2 * record.ratio_off:.2f}."
        )
    yield (
        f"From now on the model's own error counts as {100 * record.uncertainty.of_the_change:.2g} % of a "
        f"change, instead of the usual {100 * record.usual:.2g} %."
    )


def _measured(band: BandOutcome) -> tuple[float, float, float]:
    off = SURE * band.uncertainty
    return band.measured - off, band.measured, band.measured + off


def _percent(logarithm: float) -> str:
    return percent_text(math.expm1(logarithm))


def _bare(logarithm: float) -> str:
    return _percent(logarithm).removesuffix(" %")
