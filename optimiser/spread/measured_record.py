"""How far the shop's own measured builds say that the model is wrong about a change."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimiser.model.band_outcome import BandOutcome
from optimiser.spread.model_uncertainty import ModelUncertainty

GRID: Final = np.geomspace(0.002, 1.0, 400)
"""Model errors that are weighed, as shares of the change. [-]"""

PRIOR_FACTOR: Final = 2.0
"""Factor within which the usual model error is known before any build is measured; common practice. [-]"""

LEAST_CHANGE: Final = 0.02
"""Bands that were to move by less say nothing about a share of the change. [-]"""


@dataclass(frozen=True, slots=True)
class MeasuredRecord:
    """What measured builds say together.

    Parameters
    ----------
    builds : how many were measured.
    bands : how many of their bands were to move.
    inside : of all their bands, how many lay where they were said to.
    all_bands : how many bands that is of.
    ratio : change that was measured over the change that was promised, all builds together. [-]
    ratio_off : standard uncertainty of that. [-]
    uncertainty : the model's own error, learned from them. [-]
    usual : the same before any build was measured. [-]
    """

    builds: int
    bands: int
    inside: int
    all_bands: int
    ratio: float
    ratio_off: float
    uncertainty: ModelUncertainty
    usual: float


def measured_record(builds: Sequence[Sequence[BandOutcome]]) -> MeasuredRecord | None:
    r"""What measured builds say of the model's own error; None before the first.

    Parameters
    ----------
    builds : the bands of each.

    Notes
    -----
    The error e of a band with predicted change p is taken as normal with variance
    :math:`s^2 + (\varepsilon p)^2`, s from the damper's figures and from the dyno. The model's share
    :math:`\varepsilon` has a lognormal prior about the usual one, a factor of two wide; its posterior mean on
    a grid is used. The bands of one build share one damper, so each counts for one over their number.
    """
    if not builds:
        return None
    usual = ModelUncertainty().of_the_change
    weight = -0.5 * (np.log(GRID / usual) / math.log(PRIOR_FACTOR)) ** 2
    top, bottom, count = 0.0, 0.0, 0
    for bands in builds:
        moved = [band for band in bands if abs(band.predicted) >= LEAST_CHANGE]
        for band in moved:
            variance = band.unsure**2 + band.uncertainty**2 + (GRID * band.predicted) ** 2
            weight = weight - 0.5 * (np.log(variance) + band.error**2 / variance) / len(moved)
            top += band.predicted * band.measured / len(moved)
            bottom += band.predicted**2 / len(moved)
            count += 1
    chance = np.exp(weight - weight.max())
    share = float((chance * GRID).sum() / chance.sum())
    every = [band for bands in builds for band in bands]
    known = [band.unsure**2 + band.uncertainty**2 + (share * band.predicted) ** 2 for band in every]
    off = math.sqrt(sum(v * b.predicted**2 for v, b in zip(known, every, strict=True)))
    return MeasuredRecord(
        builds=len(builds),
        bands=count,
        inside=sum(band.inside for band in every),
        all_bands=len(every),
        ratio=top / bottom if bottom else math.nan,
        ratio_off=off / sum(b.predicted**2 for b in every) if bottom else math.nan,
        uncertainty=ModelUncertainty(of_the_change=share),
        usual=usual,
    )
