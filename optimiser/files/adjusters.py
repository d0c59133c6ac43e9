"""The outside adjusters of a damper file, as the ride plan moves them."""

from __future__ import annotations

from optimiser.files.damper_file import DamperFile
from optimiser.intake.brackets import Adjuster


def adjusters_of(damper: DamperFile) -> tuple[Adjuster, ...]:
    """Every clicker with its range and with where it stands, in the order of the file."""
    return tuple(
        Adjuster(name=clicker.name, most=len(clicker.area_mm2) - 1, at=clicker.clicks_out)
        for valve in damper.valve
        for clicker in valve.clicker
    )
