"""Measured points beside what the model says of the same damper: a slip of unit or stroke shows there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from damping_model.damper.damper import Damper
from damping_model.damper.force import force_curve
from optimiser.dyno.run import DynoPoint, DynoRun

UNIT_SLIP: Final = 2.5
"""Times the model's force, or a part of it: a damper described as it is has not such a one. [-]"""

SLOWEST: Final = 0.04
"""Below it friction and leaks decide, and say nothing of units. [m/s]"""

NEARER: Final = 0.25
"""Strokes count as swapped if that brings the logarithm of the ratio so much nearer to nothing. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PointBeside:
    """A peak beside the model.

    Parameters
    ----------
    point : as measured.
    measured : damping force, positive in compression. [N]
    model : the model's at the run's clicks and temperature. [N]
    """

    point: DynoPoint
    measured: float
    model: float


def beside_model(damper: Damper, run: DynoRun) -> tuple[PointBeside, ...]:
    """Every peak of a run with the model's damping force at its velocity."""
    peaks = run.peaks
    curve = force_curve(
        damper,
        velocities=[peak.velocity for peak in peaks],
        temperature=run.temperature,
        clicks=run.clicks,
    )
    return tuple(
        PointBeside(point=peak, measured=run.damping_force(peak), model=float(force))
        for peak, force in zip(peaks, curve.damping_force, strict=True)
    )


def slips(found: Sequence[PointBeside]) -> Iterator[str]:
    """What looks like a slip of unit or stroke when measured and model are held together, in sentences."""
    slowest = min(SLOWEST, max((abs(one.point.velocity) for one in found), default=0.0) / 2)
    ratios = {
        sign: float(np.median(logs))
        for sign in (1.0, -1.0)
        if (
            logs := [
                np.log(max(one.measured / one.model, 1e-3))
                for one in found
                if one.point.sign == sign and abs(one.point.velocity) >= slowest and one.model * sign > 0
            ]
        )
    }
    if not ratios:
        return
    whole = float(np.exp(np.mean(list(ratios.values()))))
    if not 1 / UNIT_SLIP <= whole <= UNIT_SLIP:
        yield (
            f"Measured is {whole:.2g} times what the damper's file gives. Is it this damper, are its "
            "clicks right, and are the units of force and velocity those of the file?"
        )
    if len(ratios) == 2:
        across = _across(found, slowest)
        if across is not None and across + NEARER < max(abs(ratio) for ratio in ratios.values()):
            yield (
                "With compression and rebound swapped the measured forces would be much nearer to the "
                "damper's file. If the dyno counts rebound as positive, say --compression negative "
                "--compression-force negative."
            )


def _across(found: Sequence[PointBeside], slowest: float) -> float | None:
    """Greatest logarithm of measured over model, if each stroke were the other."""
    logs = []
    for sign in (1.0, -1.0):
        own = {round(abs(one.point.velocity), 3): one for one in found if one.point.sign == sign}
        other = {round(abs(one.point.velocity), 3): one for one in found if one.point.sign == -sign}
        pairs = [
            np.log(max(-own[speed].measured / other[speed].model, 1e-3))
            for speed in own.keys() & other.keys()
            if speed >= slowest and other[speed].model * sign < 0
        ]
        if not pairs:
            return None
        logs.append(abs(float(np.median(pairs))))
    return max(logs)
