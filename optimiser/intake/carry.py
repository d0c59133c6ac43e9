"""Carry a tune over: what another frame's damper must do to feel at the wheel like a damper that is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.vehicle.leverage import LeverageCurve
from optimiser.errors import InputError
from optimiser.intake.bands import Stroke
from optimiser.intake.goal_builder import Forces
from optimiser.model.goal import Role, Window
from optimiser.model.percent import percent_text, share_text

USUAL_STRETCH: Final = (0.10, 0.90)
"""Stretch of the travel that is matched; common practice, no source. [-]"""

PLACES: Final = 9


@dataclass(frozen=True, slots=True)
class CarryBand:
    """A band of wheel velocity that is to feel alike.

    Parameters
    ----------
    name : what the tuner calls it.
    stroke : the stroke.
    low, high : slowest and fastest wheel velocity. [m/s]
    tolerance : how far the force may end from the wanted one, as a share of the wanted one. [-]
    """

    name: str
    stroke: Stroke
    low: float
    high: float
    tolerance: float


@dataclass(frozen=True, slots=True)
class Disagreement:
    """How far one damper curve must miss at a place of the travel, however it is built.

    Parameters
    ----------
    band : the band's name.
    travel_share : place of the travel, the same share on both frames. [-]
    wheel_travel : that place on the new frame. [m]
    ratio : motion ratio of the old frame over that of the new one. [-]
    miss : largest distance at the wheel from the known feel when the force is as desired, as a share; its
        sign says whether the new frame feels firmer. [-]
    """

    band: str
    travel_share: float
    wheel_travel: float
    ratio: float
    miss: float


@dataclass(frozen=True, slots=True)
class Carried:
    """A known feel as a goal for another damper.

    Parameters
    ----------
    windows : shaft forces of the new damper.
    disagreements : by band and place.
    worst : the largest of them.
    reachable : whether every miss lies within its band's tolerance.
    said : all of it in a sentence.
    """

    windows: tuple[Window, ...]
    disagreements: tuple[Disagreement, ...]
    worst: Disagreement
    reachable: bool
    said: str


def carry_over(
    *,
    bands: Sequence[CarryBand],
    known: LeverageCurve,
    known_forces: Forces,
    new: LeverageCurve,
    new_forces: Forces,
    stretch: tuple[float, float] = USUAL_STRETCH,
    samples: int = 5,
) -> Carried:
    r"""Shaft forces that bring a known wheel-side curve to another frame.

    Parameters
    ----------
    bands : of wheel velocity.
    known, known_forces : the frame that feels right, and its damper's damping force [N] at signed shaft
        velocities [m/s].
    new, new_forces : the frame to be tuned, and its damper as it is.
    stretch : part of the travel that is matched, place by place at the same share of each frame's travel. [-]
    samples : velocities in each band.

    Notes
    -----
    At a share :math:`\tau` of the travel the known wheel force is :math:`M_A F_A(M_A v_w)`. The new damper
    at shaft velocity :math:`v = M_B v_w` gives :math:`M_B F_B(v)` at the wheel, so that
    :math:`F_B(v) = r F_A(r v)` with :math:`r(\tau) = M_A/M_B`. A damper that does not know where it stands
    has one force for each velocity, while *r* may change along the travel. With *a* the least and *b* the
    most that the places ask, :math:`2ab/(a+b)` misses both by the same share, :math:`(b-a)/(a+b)`, and no
    other force misses them by less. That share comes on top of the stack's own distance from it.
    """
    if not bands:
        raise InputError("got no band to carry over, expected at least one.")
    if not 0 <= stretch[0] < stretch[1] <= 1:
        raise InputError(
            f"got travel from {share_text(stretch[0])} to {share_text(stretch[1])}, expected the "
            f"shallow end first, "
            "in 0 to 100 %."
        )
    shares = np.linspace(*stretch, PLACES)
    ours = new.motion_ratio(wheel_travel=shares * new.wheel_travel_end)
    ratios = known.motion_ratio(wheel_travel=shares * known.wheel_travel_end) / ours
    windows, disagreements, reachable = [], [], True
    for band in bands:
        velocities = _shaft_velocities(band, ours, samples)
        asked = _asked(known_forces, velocities, ratios)
        desired = 2 / (1 / asked.min(axis=0) + 1 / asked.max(axis=0))
        windows.append(_window(band, velocities, new_forces, desired))
        misses = desired / asked - 1
        for place, share in enumerate(shares):
            row = misses[place]
            miss = float(row[np.abs(row).argmax()])
            travel = float(share * new.wheel_travel_end)
            disagreements.append(Disagreement(band.name, float(share), travel, float(ratios[place]), miss))
            reachable = reachable and abs(miss) <= band.tolerance
    worst = max(disagreements, key=lambda one: abs(one.miss))
    return Carried(tuple(windows), tuple(disagreements), worst, reachable, _in_words(worst, reachable))


def _shaft_velocities(band: CarryBand, ratios: NDArray[np.float64], samples: int) -> NDArray[np.float64]:
    if not 0 < band.low < band.high:
        raise InputError(
            f"band '{band.name}': got {band.low:g} to {band.high:g} m/s, expected the lower velocity "
            "first, above 0."
        )
    middle = float(np.median(ratios))
    sign = 1.0 if band.stroke == "compression" else -1.0
    return sign * middle * np.geomspace(band.low, band.high, samples)


def _asked(
    forces: Forces, velocities: NDArray[np.float64], ratios: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Shaft force that each place (row) asks of the new damper at each of its velocities (column). [N]"""
    known = np.asarray(forces((ratios[:, None] * velocities).ravel())).reshape(len(ratios), -1)
    if not (np.isfinite(known) & (known > 0)).all():
        raise InputError("the known damper has no force at some of these velocities, expected one above 0.")
    asked: NDArray[np.float64] = ratios[:, None] * known
    return asked


def _window(
    band: CarryBand, velocities: NDArray[np.float64], forces: Forces, desired: NDArray[np.float64]
) -> Window:
    before = np.asarray(forces(velocities), dtype=float)
    columns = (velocities, before, desired * (1 - band.tolerance), desired, desired * (1 + band.tolerance))
    return Window(band.name, Role.TARGET, *(tuple(float(x) for x in column) for column in columns))


def _in_words(worst: Disagreement, reachable: bool) -> str:
    where = (
        f"most at {share_text(worst.travel_share)} of the travel ({worst.wheel_travel * 1e3:.0f} mm at "
        f"the wheel), "
        f"in '{worst.band}', by {percent_text(worst.miss)}"
    )
    if reachable:
        return f"The two frames can feel alike along the travel within the tolerance; they differ {where}."
    return (
        f"The two frames cannot feel alike all along the travel, whatever the stack: they differ {where}. "
        "Choose the stretch of travel that matters, or accept the difference."
    )
