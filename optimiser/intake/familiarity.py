"""How far any force may move, so that the rider still knows the machine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from optimiser.intake.bands import TargetBand
from optimiser.model.percent import share_text

NARROW_LIMIT: Final = 0.15
"""Limit for a complaint about one instant; common practice, no source. [-]"""

NO_LIMIT: Final = 1.0
"""Asking for this much is asking for none. [-]"""


@dataclass(frozen=True, slots=True)
class Familiarity:
    """The limit, and why.

    Parameters
    ----------
    limit : the most that any force may move, as a share of the force before; None for none. [-]
    reason : why, in a sentence.
    """

    limit: float | None
    reason: str


def familiarity_for(*, asked: float | None, narrow: bool, targets: Sequence[TargetBand]) -> Familiarity:
    """The limit that a job asks for, or the usual one.

    Parameters
    ----------
    asked : from the job; 1 or more for no limit, None for the usual. [-]
    narrow : whether the complaint names one instant.
    targets : the bands to move; the usual limit leaves room for them.
    """
    if asked is not None and asked >= NO_LIMIT:
        return Familiarity(None, "No limit on the rest of the curve, as the job asks.")
    if asked is not None:
        return Familiarity(
            asked,
            f"No force anywhere moves by more than {share_text(asked, 1)}, as the job asks.",
        )
    if not narrow:
        return Familiarity(
            None, "A broad complaint: between the bands nothing is limited unless the job asks."
        )
    wanted = [abs(band.shift) + band.tolerance for band in targets if band.shift is not None]
    limit = max([NARROW_LIMIT, *wanted])
    return Familiarity(
        limit,
        f"One instant is complained of, so no force anywhere moves by more than {share_text(limit, 1)} "
        f"and the rider "
        "still knows the machine (common practice, no source).",
    )
