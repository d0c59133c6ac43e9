"""What the model expects of each band when one adjuster moves, so that notes and model can be compared."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from optimiser.errors import InputError
from optimiser.intake.bands import SIGN, Band
from optimiser.intake.brackets import SEEN, Adjuster, Predict
from optimiser.intake.complaint import NamedBand
from optimiser.intake.goal_builder import FAMILIAR_SPAN, Forces, velocities_of


def predictor(*, forces_at: Callable[[Mapping[str, int]], Forces], bands: Sequence[Band]) -> Predict:
    """A prediction of how far each band moves, on average, from the damper as it stands.

    Parameters
    ----------
    forces_at : damping forces with some adjusters moved to so many clicks out; an empty mapping moves none.
    bands : to be told about.
    """
    velocities = [velocities_of(band) for band in bands]
    everywhere = np.concatenate(velocities)
    start = forces_at({})(everywhere)
    if not (np.isfinite(start) & (start > 0)).all():
        raise InputError("the damper has no force at some velocity of the bands, expected one above 0.")

    def predict(adjuster: str, clicks: int) -> Mapping[str, float]:
        changes: NDArray[np.float64] = forces_at({adjuster: clicks})(everywhere) / start - 1
        ends = np.cumsum([len(part) for part in velocities])[:-1]
        parts = np.split(changes, ends)
        return {band.name: float(part.mean()) for band, part in zip(bands, parts, strict=True)}

    return predict


def reaches_across(
    *, forces_at: Callable[[Mapping[str, int]], Forces], adjusters: Sequence[Adjuster]
) -> bool:
    """Whether some adjuster, turned from end to end, moves both strokes.

    Parameters
    ----------
    forces_at : damping forces with some adjusters moved to so many clicks out.
    adjusters : of the damper.
    """
    speeds = np.geomspace(*FAMILIAR_SPAN, 4)
    for adjuster in adjusters:
        shut, wide = forces_at({adjuster.name: 0}), forces_at({adjuster.name: adjuster.most})
        moved = [
            not np.allclose(shut(sign * speeds), wide(sign * speeds), rtol=SEEN, atol=0.0)
            for sign in SIGN.values()
        ]
        if all(moved):
            return True
    return False


def bands_of_both_strokes(named: Sequence[NamedBand]) -> tuple[Band, ...]:
    """The shop's named bands in either stroke, as bands to be told about."""
    return tuple(
        Band(f"{stroke} {band.name}", stroke, band.low, band.high, 1.0)
        for stroke in ("compression", "rebound")
        for band in named
    )
