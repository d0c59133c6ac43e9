"""What is typed of dyno files: columns, clicks, quantities with their units."""

from __future__ import annotations

from collections.abc import Sequence

from damping_model.units import BAR, MILLIMETRE
from optimiser.errors import InputError
from optimiser.files.dyno.columns import NEED_NO_UNIT, Column, ColumnRole, unit_of
from optimiser.files.dyno.facts import clicks_of, temperature_of
from optimiser.intake.quantities import FORCE, LENGTH, PRESSURE, Quantity, read


def column_of(text: str, *, option: str = "--column") -> Column:
    """A column as typed: ``force=Load:kgf``, ``clicks rebound=Reb``.

    Raises
    ------
    InputError
        When it is no such thing.
    """
    what, _, rest = text.partition("=")
    header, _, unit = rest.rpartition(":") if ":" in rest else (rest, "", "")
    name, adjuster = what.strip().lower(), ""
    if name.startswith("clicks "):
        name, adjuster = "clicks", name.removeprefix("clicks ").strip()
    known = [role.value for role in ColumnRole]
    if name not in known or not header.strip():
        raise InputError(
            f"{option}: got {text!r}, expected what it holds, its header and its unit, as in "
            "'force=Load:kgf'; "
            f"it holds one of {', '.join(known)}."
        )
    role = ColumnRole(name)
    spelled = "" if role in NEED_NO_UNIT else unit_of(unit, role)
    if spelled is None or (not spelled and role not in NEED_NO_UNIT):
        raise InputError(
            f"{option}: got {text!r}, expected a unit of {role.value} behind a colon, as in 'force=Load:N'."
        )
    return Column(header.strip(), role, spelled, adjuster)


def quantity(text: str | None, kind: Quantity, *, option: str, size: float) -> float | None:
    """A quantity as typed, in SI; None when it was not.

    Parameters
    ----------
    text : as typed.
    kind : what is measured.
    option : for messages.
    size : of the unit that ``kind`` is kept in. [SI]
    """
    if text is None:
        return None
    try:
        return size * read(text, kind)
    except InputError as error:
        raise InputError(f"{option}: {error}") from None


def clicks_typed(texts: Sequence[str], *, option: str = "--clicks") -> dict[str, int]:
    """Clicks out as typed, by adjuster: ``rebound=7``."""
    found = {}
    for text in texts:
        name, _, count = text.rpartition("=")
        try:
            found.update(clicks_of(count, name=name))
        except InputError as error:
            raise InputError(f"{option}: {error}") from None
    return found


def temperature_typed(text: str | None, *, option: str = "--temperature") -> float | None:
    """A temperature as typed. [K]"""
    if text is None:
        return None
    try:
        kelvin = temperature_of(text)
    except InputError as error:
        raise InputError(f"{option}: {error}") from None
    if kelvin is None:
        raise InputError(f"{option}: got {text!r} without a scale, expected one, as in '40 C' or '104 F'.")
    return kelvin


def length_typed(text: str | None, *, option: str) -> float | None:
    """A length as typed; None when it was not. [m]"""
    return quantity(text, LENGTH, option=option, size=MILLIMETRE)


def pressure_typed(text: str | None, *, option: str) -> float | None:
    """A pressure as typed; None when it was not. [Pa]"""
    return quantity(text, PRESSURE, option=option, size=BAR)


def force_typed(text: str | None, *, option: str) -> float | None:
    """A force as typed; None when it was not. [N]"""
    return quantity(text, FORCE, option=option, size=1.0)
