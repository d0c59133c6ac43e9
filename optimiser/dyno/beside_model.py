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

NEARER: Final = 0.2
"""Strokes count as swapped if that brings the logarithms of their ratios nearer to each other by this. [-]"""

LEAST: Final = 1e-3
"""Of a ratio, where it has a logarithm: a force the wrong way round is far off. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PointBeside:
    """A peak beside the model.

    Parameters
    ----------
    point : as measured.
    measured : damping force, positive in compression. [N]
    swapped : what it would be of the other stroke if the two were swapped; gas then pushes the other way. [N]
    model : the model's at the run's clicks and temperature. [N]
    """

    point: DynoPoint
    measured: float
    swapped: float
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
        PointBeside(
            point=peak,
            measured=run.damping_force(peak),
            swapped=-run.damping_force(peak) - 2 * (run.gas_force or 0.0),
            model=float(force),
        )
        for peak, force in zip(peaks, curve.damping_force, strict=True)
    )


def slips(found: Sequence[PointBeside]) -> Iterator[str]:
    """What looks like a slip of unit or stroke when measured and model are held together, in sentences."""
    slowest = min(SLOWEST, max((abs(one.point.velocity) for one in found), default=0.0) / 2)
    fast = [one for one in found if abs(one.point.velocity) >= slowest]
    ratios = [ratio for sign in (1.0, -1.0) if (ratio := _ratio(fast, sign)) is not None]
    if not ratios:
        return
    whole = float(np.exp(np.mean(ratios)))
    if not 1 / UNIT_SLIP <= whole <= UNIT_SLIP:
        yield (
            f"Measured is {whole:.2g} times what the damper's file gives. Is it this damper, are its "
            "clicks right, and are the units of force and velocity those of the file?"
        )
    other = [ratio for sign in (1.0, -1.0) if (ratio := _swapped_ratio(fast, sign)) is not None]
    if len(ratios) == len(other) == 2 and abs(other[0] - other[1]) + NEARER < abs(ratios[0] - ratios[1]):
        yield (
            "With compression and rebound swapped the measured forces would be much nearer to the "
            "damper's file. If displacement or velocity falls in compression on this dyno, say "
            "--compression negative."
        )


def _ratio(found: Sequence[PointBeside], sign: float) -> float | None:
    """Logarithm of measured over model in a stroke, the middle one; None without a point."""
    logs = [
        np.log(max(one.measured / one.model, LEAST))
        for one in found
        if one.point.sign == sign and one.model * sign > 0
    ]
    return float(np.median(logs)) if logs else None


def _swapped_ratio(found: Sequence[PointBeside], sign: float) -> float | None:
    """The same if what was measured in a stroke were the other one's."""
    model = {round(abs(one.point.velocity), 3): one.model for one in found if one.point.sign == -sign}
    logs = [
        np.log(max(one.swapped / model[speed], LEAST))
        for one in found
        if one.point.sign == sign
        and (speed := round(abs(one.point.velocity), 3)) in model
        and model[speed] * sign < 0
    ]
    return float(np.median(logs)) if logs else None
