"""A bare shift of one band of a damper: what a season asks for where nobody has recorded jobs."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.intake.bands import TargetBand
from optimiser.model.damper_description import DamperDescription


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """One line of the list.

    Parameters
    ----------
    name : what it is called.
    damper : whose force is to move.
    stack : name of the stack that may change; None for the only one.
    band : that is to move, and how far.
    elsewhere : most that any force outside the band may move, as a share of it; None for no limit. [-]
    times : how often it comes; None where the list says nothing.
    where : file and line, for messages.
    """

    name: str
    damper: DamperDescription
    stack: str | None
    band: TargetBand
    elsewhere: float | None
    times: int | None
    where: str
