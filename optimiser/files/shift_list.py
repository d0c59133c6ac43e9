"""A list of damper and band shifts: what a season asks for where nobody has recorded jobs."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Final, cast

from optimiser.errors import InputError
from optimiser.files.csv_lines import CsvKind, refuse
from optimiser.files.damper_builder import read_damper
from optimiser.files.shop_folder import read_named
from optimiser.intake.bands import Stroke, TargetBand
from optimiser.jobs.shift import Shift
from optimiser.model.damper_description import DamperDescription

COLUMNS: Final = (
    "damper",
    "stack",
    "stroke",
    "from_m_s",
    "to_m_s",
    "shift_percent",
    "tolerance_percent",
    "elsewhere_percent",
    "times",
    "name",
)
KIND: Final = CsvKind("list of shifts", COLUMNS, needed=6)

USUAL_TOLERANCE: Final = 0.05
"""How far the average of a band may end from what is asked, where the list says nothing. [-]"""

MOST_TIMES: Final = 1000
"""That a shift comes in a season."""

_NUMBER: Final = re.compile(r"[-+]?[0-9]{1,6}(?:[.,][0-9]{1,6})?")
_FIGURES: Final = ("from_m_s", "to_m_s", "shift_percent", "tolerance_percent", "elsewhere_percent")


def read_shifts(path: Path) -> tuple[Shift, ...]:
    """Read a list of shifts.

    Parameters
    ----------
    path : CSV with a header; dampers are named from the list's own folder.

    Raises
    ------
    InputError
        Naming file, line and field, what was got, what was expected and the way out; all faults at once.
    """
    shifts: list[Shift] = []
    faults: list[str] = []
    dampers: dict[str, DamperDescription] = {}
    for line, cells in KIND.lines(KIND.text_of(path), name=str(path)):
        where = f"{path}:{line}"
        if isinstance(cells, list):
            faults += cells
            continue
        try:
            name = cells["damper"]
            if name not in dampers:
                dampers[name] = read_named(path, name, read_damper)
            shifts.append(_shift(cells, dampers[name], where, number=len(shifts) + 1))
        except InputError as error:
            faults.append(str(error) if str(error).startswith(where) else f"{where}: {error}")
    names = [one.name for one in shifts]
    for name in sorted({name for name in names if names.count(name) > 1}):
        faults.append(f"{path}: name: got {name!r} twice, expected one shift a name. Rename one of the two.")
    if not shifts and not faults:
        faults.append(f"{path}: got no line below the header, expected a shift a line. Add what comes.")
    refuse(faults)
    return tuple(shifts)


def _shift(cells: dict[str, str], damper: DamperDescription, where: str, *, number: int) -> Shift:
    figures = {column: _figure(cells, column, where) for column in _FIGURES}
    needed = [column for column in _FIGURES[:3] if figures[column] is None]
    if needed:
        raise InputError(f"{where}: {needed[0]}: got nothing, expected a number. Fill the cell in.")
    times = cells.get("times", "")
    if times and not (times.isascii() and times.isdecimal() and 1 <= int(times) <= MOST_TIMES):
        raise InputError(
            f"{where}: times: got {times[:40]!r}, expected a whole number from 1 to {MOST_TIMES}. Leave it "
            "empty for the usual."
        )
    stack = damper.stack_named(cells["stack"] or None, where=f"{where}: stack").name
    tolerance, elsewhere = figures["tolerance_percent"], figures["elsewhere_percent"]
    name = cells.get("name") or f"{damper.name}, {cells['shift_percent']} % ({number})"
    band = TargetBand(
        name,
        cast(Stroke, cells["stroke"]),  # another word is refused by the band
        figures["from_m_s"] or 0.0,
        figures["to_m_s"] or 0.0,
        USUAL_TOLERANCE if tolerance is None else tolerance / 100,
        shift=(figures["shift_percent"] or 0.0) / 100,
    )
    if elsewhere is not None and elsewhere <= 0:
        raise InputError(f"{where}: elsewhere_percent: got {elsewhere:g}, expected more than 0, or nothing.")
    return Shift(
        name=name,
        damper=damper,
        stack=stack,
        band=band,
        elsewhere=None if elsewhere is None else elsewhere / 100,
        times=int(times) if times else None,
        where=where,
    )


def _figure(cells: dict[str, str], column: str, where: str) -> float | None:
    text = cells.get(column, "")
    if not text:
        return None
    if not _NUMBER.fullmatch(text) or not math.isfinite(value := float(text.replace(",", "."))):
        raise InputError(f"{where}: {column}: got {text[:40]!r}, expected a number, such as 0.2 or -12.")
    return value
