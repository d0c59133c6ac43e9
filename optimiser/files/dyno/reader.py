"""Dyno files read: columns found, runs parted, figures treated, gas and friction split off."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from damping_model.damper.damper import Damper
from damping_model.errors import GeometryError
from optimiser.dyno.given import Given, Recording, Settled, VelocityTable
from optimiser.dyno.near_zero import AtRest
from optimiser.dyno.recorded import read_recordings
from optimiser.dyno.run import DynoRun
from optimiser.dyno.split import split_off
from optimiser.dyno.tabled import read_tables
from optimiser.errors import InputError
from optimiser.files.dyno.blocks import Block, blocks_of, used
from optimiser.files.dyno.columns import Column, columns_of
from optimiser.files.dyno.facts import NO_FACTS, Facts
from optimiser.files.dyno.layouts import recording_of, table_of
from optimiser.files.dyno.machine_file import machine_named, machines_of
from optimiser.files.dyno.pieces import Piece, pieces_of
from optimiser.files.instruments.instrument_text import InstrumentText, instrument_text

MOST_RUNS = 200
"""In one file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SaidOfFiles:
    """What a person says of the files, which goes before what stands in them.

    Parameters
    ----------
    columns : by their headers.
    machine : whose columns they are; None to recognise one.
    facts : of every run.
    """

    columns: tuple[Column, ...] = ()
    machine: str | None = None
    facts: Facts = NO_FACTS


NOTHING_SAID = SaidOfFiles()


@dataclass(frozen=True, slots=True, kw_only=True)
class DynoSession:
    """Runs of one damper.

    Parameters
    ----------
    runs : in the order of the files.
    columns : those of the first file that were read, to be remembered.
    notes : what was derived of the files' columns.
    """

    runs: tuple[DynoRun, ...]
    columns: tuple[Column, ...]
    notes: tuple[str, ...]


def read_session(
    paths: Sequence[Path],
    *,
    settled: Settled = Settled(),  # noqa: B008 (a frozen value)
    said: SaidOfFiles = NOTHING_SAID,
    damper: Damper | None = None,
) -> DynoSession:
    """Runs of files of one damper, treated together: what a slow run tells of gas and friction holds for all.

    Parameters
    ----------
    paths : of the files.
    settled : what a person settles instead of letting it be derived.
    said : of columns, machine and runs.
    damper : whose runs they are: the names of its adjusters are matched, and its fill tells the gas where no
        run does.

    Raises
    ------
    InputError
        Naming file, line and field, what was got, what was expected and the way out.
    """
    found: list[tuple[DynoRun, AtRest | None]] = []
    columns: tuple[Column, ...] = ()
    notes: list[str] = []
    for path in paths:
        text = instrument_text(path)
        read = _Columns(path, said)
        blocks = blocks_of(text, read)
        columns = columns or tuple(used(blocks.blocks[0].columns))
        notes.extend(_column_notes(path, read, blocks.blocks))
        if blocks.ignored:
            notes.append(f"{path.name}: {blocks.ignored} lines of words say nothing that is used.")
        pieces = [_said(piece, said.facts) for piece in pieces_of(blocks.blocks, name=str(path))]
        found.extend(_treated(path, text, pieces, settled, damper))
    # A damper whose reservoir lies below its piston does not say the section of its shaft.
    section = None if damper is None or damper.displaced_area <= 0 else damper.displaced_area
    filled_to = None if damper is None else damper.gas_pressure
    runs = split_off(found, settled, shaft_section=section, filled_to=filled_to)
    return DynoSession(runs=runs, columns=columns, notes=tuple(notes))


class _Columns:
    """Columns of header lines of one file, and by what they were found."""

    def __init__(self, path: Path, said: SaidOfFiles) -> None:
        self.own = said.columns
        self.named = None if said.machine is None else machine_named(path, said.machine)
        self.name = said.machine
        self.machines = () if said.machine is not None else tuple(machines_of(path))
        self.path = path
        self.positions = {one.header: one for one in said.columns}

    def __call__(self, headers: Sequence[str], units_row: Sequence[str], place: str) -> list[Column | None]:
        """Columns of a header line."""
        machine = self.named or self._recognised(headers)
        return columns_of(headers, known=(*self.own, *machine), units_row=units_row, place=place)

    def _recognised(self, headers: Sequence[str]) -> tuple[Column, ...]:
        there = {header.lower() for header in headers}
        fitting = [one for one in self.machines if {column.header.lower() for column in one[1]} <= there]
        if not fitting:
            return ()
        self.name, columns = max(fitting, key=lambda one: len(one[1]))
        return columns


def _column_notes(path: Path, read: _Columns, blocks: Sequence[Block]) -> Iterator[str]:
    columns = list(used(blocks[0].columns))
    words = ", ".join(
        f"'{one.header}' is {one.role.value}" + (f" in {_spelled(one.unit)}" if one.unit else "")
        for one in columns
    )
    unread = sum(column is None for column in blocks[0].columns)
    by = "guessed from their words" if any(one.guessed for one in columns) else "as you say"
    if read.name is not None and not any(one.guessed for one in columns):
        by = f"as remembered of the machine '{read.name}'"
    yield f"{path.name}: columns {by}: {words}." + (f" {unread} more are not read." if unread else "")


def _spelled(unit: str) -> str:
    return {"n": "N", "kn": "kN", "dan": "daN", "c": "°C", "f": "°F", "k": "K", "mpa": "MPa"}.get(unit, unit)


def _said(piece: Piece, facts: Facts) -> Piece:
    """A piece with what a person says in the place of what its file says."""
    own = piece.facts
    return replace(
        piece,
        facts=replace(
            own,
            clicks={**own.clicks, **facts.clicks},
            temperature=own.temperature if facts.temperature is None else facts.temperature,
            gas_pressure=own.gas_pressure if facts.gas_pressure is None else facts.gas_pressure,
            stroke=own.stroke if facts.stroke is None else facts.stroke,
        ),
    )


def _treated(
    path: Path, text: InstrumentText, pieces: Sequence[Piece], settled: Settled, damper: Damper | None
) -> Iterator[tuple[DynoRun, AtRest | None]]:
    if len(pieces) > MOST_RUNS:
        raise InputError(f"{path}: got {len(pieces)} runs, expected at most {MOST_RUNS}. Part the file.")
    recordings: list[Recording] = []
    tables: list[VelocityTable] = []
    for number, piece in enumerate(pieces, 1):
        given = _given(path, piece, number, len(pieces), damper)
        if (table := table_of(piece, given, unfinished=not text.whole)) is not None:
            tables.append(table)
        else:
            recordings.append(recording_of(piece, given))
    if recordings:
        yield from read_recordings(recordings, settled)
    if tables:
        yield from read_tables(tables, settled)


def _given(path: Path, piece: Piece, number: int, count: int, damper: Damper | None) -> Given:
    facts = piece.facts
    name = facts.name or (path.stem if count == 1 else f"run {number}")
    given = Given(
        name=name,
        source=str(path),
        lines=(min(piece.lines), max(piece.lines)),
        clicks=facts.clicks,
        temperature=facts.temperature,
        gas_pressure=facts.gas_pressure,
        stroke=facts.stroke,
        claimed_rate=facts.claimed_rate,
        notes=(*facts.notes, *(("The last line breaks off and is left out.",) if piece.cut else ())),
    )
    return given if damper is None else replace(given, clicks=_of_damper(facts.clicks, damper, given.place))


def _of_damper(clicks: Mapping[str, int], damper: Damper, place: str) -> dict[str, int]:
    """Clicks by the names that the damper has for its adjusters."""
    found = {}
    names = [one.name for one in damper.clickers]
    for said, position in clicks.items():
        fitting = [name for name in names if name.lower() == said] or [
            name for name in names if all(_begins(name, word) for word in said.lower().split())
        ]
        if len(fitting) != 1:
            known = ", ".join(f"'{name}'" for name in names) or "none"
            raise InputError(
                f"{place}: got clicks of {said!r}, expected one adjuster of {damper.name}: {known}. "
                "Name it in the file, or with --clicks."
            )
        found[fitting[0]] = position
    try:
        damper.check_clicks(found)
    except GeometryError as error:
        raise InputError(f"{place}: {error} Say them with --clicks.") from None
    return found


def _begins(name: str, word: str) -> bool:
    """Whether a word of an adjuster's name is meant: ``reb`` is rebound, ``bump`` is compression."""
    word = {"bump": "compression", "jounce": "compression", "droop": "rebound"}.get(word, word)
    parts = [name.lower(), *name.lower().replace("-", " ").split()]
    return word in parts or (len(word) > 2 and any(part.startswith(word) for part in parts))
