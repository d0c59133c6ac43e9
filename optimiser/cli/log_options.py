"""What is typed of a log: its columns, calibrations and zeros."""

from __future__ import annotations

from collections.abc import Sequence

from damping_model.units import MILLIMETRE
from optimiser.errors import InputError
from optimiser.files.ride_log.log_columns import LogColumn, unit_spelled
from optimiser.intake.quantities import LENGTH, read


def column_of(text: str) -> LogColumn:
    """A column as typed: ``rear=Sensor 2:V``, ``front shaft=Fork:mm``, ``time=Zeit:s``.

    Raises
    ------
    InputError
        When it is no such thing.
    """
    what, _, rest = text.partition("=")
    header, _, unit = rest.rpartition(":") if ":" in rest else (rest, "", "")
    corner, at_shaft = what.strip().removesuffix(" shaft"), what.strip().endswith(" shaft")
    spelled = unit_spelled(unit, time=corner == "time") if unit.strip() else ""
    if not corner or not header.strip() or spelled is None:
        raise InputError(
            f"--column: got {text!r}, expected time or a corner, its header and its unit, as in 'rear=Sensor "
            "2:mm', or 'rear shaft=Sensor 2:mm' where the shaft's travel is measured."
        )
    return LogColumn(
        header.strip(), "" if corner == "time" else corner, "shaft" if at_shaft else "wheel", spelled
    )


def calibrations_typed(texts: Sequence[str]) -> dict[str, str]:
    """Calibrations as typed, by corner: ``rear=0.52:0 mm, 4.21:140 mm``.

    Raises
    ------
    InputError
        When a corner is missing.
    """
    return dict(_by_corner(text, "--calibrate", "rear=0.52:0 mm, 4.21:140 mm") for text in texts)


def zeros_typed(texts: Sequence[str]) -> dict[str, float]:
    """What is read at full extension, by corner: ``rear=3.5 mm``. [m]

    Raises
    ------
    InputError
        When it is no length.
    """
    found = {}
    for text in texts:
        corner, value = _by_corner(text, "--zero", "rear=3.5 mm")
        try:
            found[corner] = MILLIMETRE * read(value, LENGTH)
        except InputError as error:
            raise InputError(f"--zero: {error}") from None
    return found


def _by_corner(text: str, option: str, example: str) -> tuple[str, str]:
    corner, _, value = text.partition("=")
    if not corner.strip() or not value.strip():
        raise InputError(f"{option}: got {text!r}, expected a corner and its figures, as in '{example}'.")
    return corner.strip(), value.strip()


def refuse_unknown(corners: Sequence[str], typed: Sequence[str], option: str) -> None:
    """Refuse an option about a corner that the log does not have.

    Raises
    ------
    InputError
        Naming the corners that there are.
    """
    for corner in typed:
        if corner not in corners:
            raise InputError(f"{option}: got the corner {corner!r}, expected one of {', '.join(corners)}.")
