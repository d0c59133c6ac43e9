"""Blocks of rows made into runs: parted where a setting or the clock changes, joined over a mere pause."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.errors import InputError
from optimiser.files.dyno.blocks import Block
from optimiser.files.dyno.columns import Column, ColumnRole
from optimiser.files.dyno.facts import MOST_CLICKS, Facts, refuse_heat

Floats = NDArray[np.float64]

CONTINUES: Final = 50.0
"""Steps of the clock over which a run may pause at a blank line and still be the same."""

FEWEST_AFTER: Final = 20
"""Rows behind a clock that starts again, to be a run and not a fault."""

SETTINGS: Final = (ColumnRole.CLICKS, ColumnRole.GAS_PRESSURE, ColumnRole.STROKE)
"""Columns that make a run of their own wherever they change."""


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """Rows of one run.

    Parameters
    ----------
    columns : those that are read.
    figures : in SI (columns, rows).
    lines : of every row in the file.
    facts : what is said of it.
    cut : whether the file broke off in its last row.
    """

    columns: tuple[Column, ...]
    figures: Floats
    lines: tuple[int, ...]
    facts: Facts
    cut: bool = False

    def of(self, role: ColumnRole) -> Floats | None:
        """Figures of the column of a role (rows,); None where there is none. [SI]"""
        return next(
            (row for column, row in zip(self.columns, self.figures, strict=True) if column.role is role), None
        )

    def part(self, rows: NDArray[np.intp], facts: Facts) -> Piece:
        """Some of the rows, with facts of their own."""
        lines = tuple(self.lines[row] for row in rows)
        return Piece(self.columns, self.figures[:, rows], lines, facts, self.cut)


def pieces_of(blocks: Sequence[Block], *, name: str) -> list[Piece]:
    """Runs of a file, in order; ``name`` stands for the file in messages.

    Raises
    ------
    InputError
        When a column of settings holds what no setting is.
    """
    joined: list[tuple[Piece, Sequence[Sequence[str]], bool]] = []
    for block in blocks:
        piece = _in_si(block)
        if joined and _continues(joined[-1][0], piece, fresh=block.fresh):
            before, texts, fresh = joined[-1]
            joined[-1] = (_with(before, piece), [*texts, *block.texts], fresh)
        else:
            joined.append((piece, block.texts, block.fresh))
    return [
        after
        for piece, texts, _ in joined
        for run in _by_setting(piece, texts, name)
        for after in _by_clock(run)
    ]


def _in_si(block: Block) -> Piece:
    columns = tuple(column for column in block.columns if column is not None)
    own = np.array(block.rows, dtype=np.float64).T
    figures = np.array([column.to_si(row) for column, row in zip(columns, own, strict=True)])
    return Piece(columns, figures, tuple(block.lines), block.facts, block.cut)


def _continues(before: Piece, after: Piece, *, fresh: bool) -> bool:
    """Whether rows go on with the run before them, behind a blank line or a header that is printed again."""
    if before.columns != after.columns:
        return False
    if replace(before.facts, name=None, notes=()) != replace(after.facts, name=None, notes=()):
        return False
    if after.facts.name is not None:
        return False
    time, later = before.of(ColumnRole.TIME), after.of(ColumnRole.TIME)
    if time is not None and later is not None:
        step = float(np.median(np.diff(time))) if time.size > 1 else 0.0
        return bool(0 < later[0] - time[-1] <= CONTINUES * step)
    one, other = before.of(ColumnRole.VELOCITY), after.of(ColumnRole.VELOCITY)
    if fresh or one is None or other is None:
        return False
    # The two strokes of one run are often printed one below the other.
    return bool((one.max() <= 0 <= other.min()) or (other.max() <= 0 <= one.min()))


def _with(before: Piece, after: Piece) -> Piece:
    return Piece(
        before.columns,
        np.concatenate([before.figures, after.figures], axis=1),
        (*before.lines, *after.lines),
        replace(before.facts, notes=(*before.facts.notes, *after.facts.notes)),
        after.cut,
    )


def _by_setting(piece: Piece, texts: Sequence[Sequence[str]], name: str) -> Iterator[Piece]:
    """Rows parted by the run's name and by the columns that hold settings, in the order of the file."""
    keyed = [number for number, column in enumerate(piece.columns) if column.role in SETTINGS]
    keys = [
        (*text, *(float(piece.figures[number, row]) for number in keyed)) for row, text in enumerate(texts)
    ]
    for key in dict.fromkeys(keys):
        rows = np.array([row for row, own in enumerate(keys) if own == key], dtype=np.intp)
        try:
            facts = _facts(piece, rows, texts[rows[0]])
        except InputError as error:
            raise InputError(f"{name}:{piece.lines[rows[0]]}: {error}") from None
        yield piece.part(rows, facts)


def _facts(piece: Piece, rows: NDArray[np.intp], text: Sequence[str]) -> Facts:
    """What the columns of settings add to the words in front."""
    facts = piece.facts
    if text and text[0]:
        facts = replace(facts, name=text[0])
    for column, figures in zip(piece.columns, piece.figures[:, rows], strict=True):
        value = float(figures.mean())
        match column.role:
            case ColumnRole.CLICKS:
                if not 0 <= value <= MOST_CLICKS or value != round(value):
                    raise InputError(
                        f"got {value:g} clicks in {column.header[:40]!r}, expected whole clicks out."
                    )
                facts = replace(facts, clicks={**facts.clicks, column.adjuster: round(value)})
            case ColumnRole.GAS_PRESSURE:
                facts = replace(facts, gas_pressure=value)
            case ColumnRole.STROKE:
                facts = replace(facts, stroke=value)
            case ColumnRole.TEMPERATURE:
                refuse_heat(value)
                said = (
                    f"Temperature: {figures[0] - 273.15:.3g} °C at the beginning, "
                    f"{figures[-1] - 273.15:.3g} °C at "
                    "the end; the run is taken at their mean."
                )
                facts = replace(facts, temperature=value, notes=(*facts.notes, said))
    return facts


def _by_clock(piece: Piece) -> Iterator[Piece]:
    """Rows parted where the clock starts again; a clock that only goes back is left for whoever reads it."""
    time = piece.of(ColumnRole.TIME)
    if time is None or time.size < 2:
        yield piece
        return
    span = float(np.ptp(time))
    back = np.flatnonzero(np.diff(time) < 0) + 1
    starts = [0, *(int(row) for row in back if time[row] - time[0] <= 0.02 * span), time.size]
    if any(b - a < FEWEST_AFTER for a, b in itertools.pairwise(starts)):
        yield piece
        return
    for first, last in itertools.pairwise(starts):
        yield piece.part(np.arange(first, last), piece.facts)
