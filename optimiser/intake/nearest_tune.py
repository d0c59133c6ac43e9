"""Among the tunes that the shop has on record as liked, the nearest: the usual place to start."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np

from damping_model.vehicle.leverage import LeverageCurve
from optimiser.model.percent import share_text

WEIGHTS: Final = MappingProxyType({"leverage": 1.0, "progression": 1.0, "load": 1.0, "spring": 0.5})
"""How much each difference counts; common practice, no source. [-]"""


@dataclass(frozen=True, slots=True)
class TuneSite:
    """Where a damper works.

    Parameters
    ----------
    name : job or damper, as the record names it.
    leverage : the linkage.
    sprung_mass : the corner's, rider included. [kg]
    wheel_rate : spring rate at the wheel at sag; None when unknown. [N/m]
    """

    name: str
    leverage: LeverageCurve
    sprung_mass: float
    wheel_rate: float | None = None


@dataclass(frozen=True, slots=True)
class NearTune:
    """A liked tune and how far away it is.

    Parameters
    ----------
    site : where it was liked.
    distance : weighted root of the squared differences. [-]
    differences : by name, the new one against the liked one, as shares. [-]
    said : what differs, in words.
    """

    site: TuneSite
    distance: float
    differences: Mapping[str, float]
    said: str


def nearest_tunes(
    *, wanted: TuneSite, liked: Sequence[TuneSite], weights: Mapping[str, float] = WEIGHTS
) -> tuple[NearTune, ...]:
    """Liked tunes, the nearest first; what is not known of both is left out of the distance and said.

    Parameters
    ----------
    wanted : the frame and rider to be tuned for.
    liked : tunes on record.
    weights : of leverage (mean of the motion ratio's difference along the travel), progression (its change
        from full extension to the end), load and spring.
    """
    near = [_compared(wanted, site, weights) for site in liked]
    return tuple(sorted(near, key=lambda one: (one.distance, one.site.name)))


def _compared(wanted: TuneSite, site: TuneSite, weights: Mapping[str, float]) -> NearTune:
    differences = {
        "leverage": _curve_difference(wanted.leverage, site.leverage),
        "progression": _progression(wanted.leverage) / _progression(site.leverage) - 1,
        "load": wanted.sprung_mass / site.sprung_mass - 1,
    }
    unknown = ""
    if wanted.wheel_rate and site.wheel_rate:
        differences["spring"] = wanted.wheel_rate / site.wheel_rate - 1
    else:
        unknown = "; spring not compared"
    distance = math.sqrt(sum(weights[name] * math.log1p(value) ** 2 for name, value in differences.items()))
    words = {
        "leverage": ("shaft moves more at the wheel's pace", "shaft moves less at the wheel's pace"),
        "progression": ("more progressive", "less progressive"),
        "load": ("heavier", "lighter"),
        "spring": ("stiffer spring at the wheel", "softer spring at the wheel"),
    }
    said = [
        f"{words[name][0 if value > 0 else 1]} by {share_text(abs(value))}"
        for name, value in sorted(differences.items(), key=lambda item: -abs(item[1]))
        if abs(value) >= 0.005
    ]
    return NearTune(site, distance, differences, (", ".join(said) or "no difference that counts") + unknown)


def _curve_difference(one: LeverageCurve, other: LeverageCurve) -> float:
    shares = np.linspace(0, 1, 21)
    ours = one.motion_ratio(wheel_travel=shares * one.wheel_travel_end)
    theirs = other.motion_ratio(wheel_travel=shares * other.wheel_travel_end)
    logs = np.log(ours / theirs)
    return float(np.expm1(np.sign(logs.mean()) * np.sqrt((logs**2).mean())))


def _progression(curve: LeverageCurve) -> float:
    return curve.motion_ratio(wheel_travel=curve.wheel_travel_end) / curve.motion_ratio(wheel_travel=0.0)
