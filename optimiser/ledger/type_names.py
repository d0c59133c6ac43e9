"""A shim type as a tuner types it, and the one on the shelf that it means."""

from __future__ import annotations

import difflib

from optimiser.errors import InputError
from optimiser.files.shelf_line import LENGTHS
from optimiser.files.stack_text import shims_from_lines
from optimiser.ledger.connection import Ledger
from optimiser.ledger.levels import shelf_levels
from optimiser.model.stock import ShimKey


def find_type(ledger: Ledger, text: str, *, hole_mm: float | None = None, new: bool = False) -> ShimKey:
    """The type that a text such as ``20x0.15`` means.

    Parameters
    ----------
    ledger : the shop's ledger.
    text : outer diameter x thickness. [mm]
    hole_mm : diameter of the hole; needed when the shelf has the type with several, or not at all. [mm]
    new : allow a type that the shelf does not list.

    Raises
    ------
    InputError
        Saying what was got, what the shelf has and the way out.
    """
    least, most = LENGTHS["hole_mm"]
    if hole_mm is not None and not least <= hole_mm <= most:
        raise InputError(f"--hole: got {hole_mm:g}; expected {least:g} to {most:g} mm, the shaft's diameter.")
    given = _parsed(text, hole_mm)
    known = [level.key for level in shelf_levels(ledger)]
    alike = [key for key in known if (key.outer, key.thickness) == (given.outer, given.thickness)]
    if hole_mm is not None:
        if given in alike or new:
            return given
    elif len(alike) == 1:
        return alike[0]
    if alike:
        holes = ", ".join(f"{key.inner / 1000:g}" for key in alike)
        raise InputError(f"{given}: the shelf has it with a hole of {holes} mm. Say which with --hole.")
    if new:
        raise InputError(f"{given}: the shelf does not list it yet. Say its hole with --hole, in mm.")
    near = difflib.get_close_matches(str(given), sorted({str(key) for key in known}), n=3)
    hint = f"Did you mean {' or '.join(near)}?" if near else "'shimwright stock list' shows what there is."
    raise InputError(f"{given}: the shelf does not list it. {hint}")


def _parsed(text: str, hole_mm: float | None) -> ShimKey:
    hole = LENGTHS["hole_mm"][0] if hole_mm is None else hole_mm
    try:
        shims = shims_from_lines([text], hole_mm=hole)
    except ValueError as error:
        end = "" if str(error).endswith("?") else "."
        raise InputError(f"TYPE: expected {error}{end}") from None
    if len(shims) != 1 or "hole" in text or shims[0].inner != round(1000 * hole):
        raise InputError(f"TYPE: got {text!r}, expected one type such as 20x0.15; say the hole with --hole.")
    return shims[0]
