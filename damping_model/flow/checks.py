"""What every part of a valve is checked for: refused with its name, the value and what was expected."""

from __future__ import annotations

import math

from damping_model.errors import GeometryError


def positive(name: str, what: str, value: float) -> None:
    """Refuse a value that is not above zero."""
    if not (math.isfinite(value) and value > 0):
        raise GeometryError(f"'{name}': got {value:g} for the {what} (SI units), expected more than 0.")


def not_negative(name: str, what: str, value: float) -> None:
    """Refuse a value below zero."""
    if not (math.isfinite(value) and value >= 0):
        raise GeometryError(f"'{name}': got {value:g} for the {what} (SI units), expected 0 or more.")


def check_share(name: str, share: float) -> None:
    """Refuse a share of the circumference that is none."""
    if not 0 < share <= 1:
        raise GeometryError(f"'{name}': got an open share of {share:g}, expected more than 0 and at most 1.")


def check_discharge(name: str, discharge: float | None) -> None:
    """Refuse a discharge coefficient that no opening has."""
    if discharge is not None and not 0.3 < discharge <= 1:
        raise GeometryError(f"'{name}': got a discharge coefficient of {discharge:g}, expected 0.3 to 1.")


def check_direction(name: str, direction: int, *, both: bool) -> None:
    """Refuse a direction that is none."""
    if direction not in ((-1, 0, 1) if both else (-1, 1)):
        raise GeometryError(
            f"'{name}': got direction {direction}, expected 1 (from first to second chamber) or -1"
            + (", or 0 for both." if both else ".")
        )
