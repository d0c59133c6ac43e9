"""Words are no finer than an adjuster: the click nearest to a first step is not refused for its size."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.intake.bands import Band, HoldBand, Stroke, TargetBand
from optimiser.intake.brackets import Adjuster
from optimiser.intake.complaint import NamedBand
from optimiser.intake.goal_builder import Forces, velocities_of
from optimiser.model.goal import mean_weights

_OTHER: Final[dict[Stroke, Stroke]] = {"compression": "rebound", "rebound": "compression"}

ROUNDING: Final = 2e-3
"""Share of the force that a held band is given beyond what a click does there. [-]"""


@dataclass(frozen=True, slots=True)
class Turning:
    """A damper's adjusters, and what it does with some of them moved.

    Parameters
    ----------
    adjusters : with where they stand.
    forces_at : damping forces with some adjusters moved to so many clicks out.
    """

    adjusters: Sequence[Adjuster]
    forces_at: Callable[[Mapping[str, int]], Forces]


@dataclass(frozen=True, slots=True)
class Click:
    """The position of one adjuster that comes nearest to a first step.

    Parameters
    ----------
    adjuster : its name.
    position : clicks out.
    shift : average change that it makes in the band, as a share of the force before. [-]
    half_step : half of what lies between it and the position on the other side of the step. [-]
    """

    adjuster: str
    position: int
    shift: float
    half_step: float


def nearest_click(target: TargetBand, holds: Sequence[HoldBand], turning: Turning) -> Click | None:
    """The finest adjuster's nearest position to a target's shift; None where no adjuster gets there.

    It has to be the stroke's own adjuster, which moves the other stroke by less, and to keep what is held of
    its own stroke. One that is nearer to the step where it stands than one click on has no say.

    Parameters
    ----------
    target : asked as a share of the force before.
    holds : bands that stay.
    turning : the damper's adjusters.
    """
    clicks = (_nearest(target, adjuster, turning) for adjuster in turning.adjusters)
    fitting = [
        click
        for click in clicks
        if click is not None and _is_own(click, target, turning) and _keeps(click, target, holds, turning)
    ]
    return min(fitting, key=lambda click: click.half_step, default=None)


def as_fine_as(click: Click, target: TargetBand) -> TargetBand:
    """The target with a tolerance no finer than a click of the adjuster."""
    return replace(target, tolerance=max(target.tolerance, click.half_step))


def other_stroke_eased(
    hold: HoldBand, click: Click, turning: Turning, bands: Sequence[NamedBand]
) -> tuple[HoldBand, ...]:
    """A held band of the other stroke, as wide in each named band as the click itself needs it.

    A needle in the shaft works in both strokes. What it lends to the other one cannot be had without.

    Parameters
    ----------
    hold : over the whole of the stroke.
    click : what is turned.
    turning : the damper's adjusters.
    bands : the shop's.
    """
    eased = []
    for band in bands:
        part = HoldBand(f"{band.name} speed {hold.stroke}", hold.stroke, band.low, band.high, hold.tolerance)
        lent = float(np.abs(np.expm1(_changes(part, {click.adjuster: click.position}, turning))).max())
        eased.append(replace(part, tolerance=max(hold.tolerance, lent + ROUNDING)))
    return tuple(eased) if any(part.tolerance > hold.tolerance for part in eased) else (hold,)


def _is_own(click: Click, target: TargetBand, turning: Turning) -> bool:
    """Whether a click moves the target's stroke more than the same velocities of the other one."""
    other = Band("other stroke", _OTHER[target.stroke], target.low, target.high, target.tolerance)
    return abs(click.shift) > abs(
        float(np.expm1(_mean_change(other, {click.adjuster: click.position}, turning)))
    )


def _keeps(click: Click, target: TargetBand, holds: Sequence[HoldBand], turning: Turning) -> bool:
    """Whether a click leaves the held bands of its own stroke where they are to stay."""
    return all(
        np.abs(np.expm1(_changes(hold, {click.adjuster: click.position}, turning))).max() <= hold.tolerance
        for hold in holds
        if hold.stroke == target.stroke
    )


def _nearest(target: TargetBand, adjuster: Adjuster, turning: Turning) -> Click | None:
    wanted = abs(target.shift or 0.0)
    for steps in (range(adjuster.at - 1, -1, -1), range(adjuster.at + 1, adjuster.most + 1)):
        last, place = 0.0, adjuster.at
        for position, shift in _shifts(target, adjuster, steps, turning):
            way = shift if (target.shift or 0.0) > 0 else -shift
            if way <= last:
                break
            if way >= wanted:
                half_step = (way - last) / 2
                if way - wanted < wanted - last:
                    last, place = way, position
                sign = 1 if shift > 0 else -1
                return None if place == adjuster.at else Click(adjuster.name, place, sign * last, half_step)
            last, place = way, position
    return None


def _shifts(
    target: Band, adjuster: Adjuster, positions: Sequence[int], turning: Turning
) -> Iterator[tuple[int, float]]:
    """Average change of a band at each of some positions, as a share of the force before."""
    for position in positions:
        yield position, float(np.expm1(_mean_change(target, {adjuster.name: position}, turning)))


def _mean_change(band: Band, clicks: Mapping[str, int], turning: Turning) -> float:
    """Average change of a band with some adjusters moved, as a logarithm. [-]"""
    return float(_changes(band, clicks, turning) @ mean_weights(velocities_of(band).tolist()))


def _changes(band: Band, clicks: Mapping[str, int], turning: Turning) -> NDArray[np.float64]:
    """Change at each velocity of a band with some adjusters moved, as a logarithm. [-]"""
    velocities = velocities_of(band)
    changes: NDArray[np.float64] = np.log(
        turning.forces_at(clicks)(velocities) / turning.forces_at({})(velocities)
    )
    return changes
