"""From runs on a dyno to what a fit uses of them: which points, without gas and friction, and how sure."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.boiling import Boiling
from damping_model.damper.damper import Damper
from damping_model.damper.force import force_curve
from optimiser.dyno.run import DynoPoint, DynoRun, SplitOff
from optimiser.errors import InputError
from optimiser.fit.observed import Direct, Sample, Stretch, UnusedPoints
from optimiser.unknowns.damper_unknowns import ENDS

Floats = NDArray[np.float64]

CYCLE_TO_CYCLE: Final = 0.0035
"""The same from cycle to cycle where a file does not tell it: the most that was measured. [-]"""

LEAST_SPREAD: Final = 0.001
"""No point is better than this: the crank's speed and the cell's own step; common practice, no source. [-]"""

GAUGE: Final = 0.15
"""A fill of gas is as the gauge says within this share, as two fills showed; taken as two deviations. [-]"""

SHARE_OF_REST: Final = 4.0
"""Points with less damping than so many times what gas and friction may be off by are left out. [-]"""

SAME_FILL: Final = 0.005
"""Gas pressures closer than this share are one fill. [-]"""

DIRECT_SPREAD: Final = 0.03
"""Friction and gas force of one run against those of another; common practice, no source. [-]"""

BEFORE_BOILING: Final = 0.97
"""Points beyond this share of the velocity where oil begins to boil are left out. [-]"""


def sample_of(damper: Damper, runs: Sequence[DynoRun]) -> Sample:
    """What runs say of a damper's damping.

    Parameters
    ----------
    damper : as its file describes it.
    runs : of it.

    Raises
    ------
    InputError
        When a run names a clicker that the damper does not have, or too few points are left to fit to.
    """
    stretches: list[Stretch] = []
    left: list[UnusedPoints] = []
    for run in runs:
        used, why = _used(damper, run)
        left += why
        if used:
            stretches.append(_stretch(damper, run, used))
    count = sum(len(stretch.points) for stretch in stretches)
    if count < LEAST_POINTS:
        why_not = "; ".join(f"{one.points} of '{one.run}' left out because {one.why}" for one in left)
        raise InputError(
            f"got {count} points of {len(runs)} runs to fit to, expected at least {LEAST_POINTS}, at several "
            f"velocities{': ' + why_not if why_not else ''}. Run the damper at more velocities."
        )
    # one slow run tells friction and gas of a whole session: that is one measurement
    direct = tuple(dict.fromkeys(one for run in runs for one in _direct(damper, run)))
    return Sample(stretches=tuple(stretches), direct=direct, left_out=tuple(left))


LEAST_POINTS: Final = 4
"""With fewer points nothing of a curve can be told. [-]"""


def temperature_of(damper: Damper, run: DynoRun) -> float:
    """Temperature of the oil on a run: as its file tells, else as the damper's does. [K]"""
    return damper.temperature if run.temperature is None else run.temperature


def _direct(damper: Damper, run: DynoRun) -> Iterator[Direct]:
    """Friction and gas as a run split them off; gas only at the fill that the damper's file tells."""
    push = damper.gas_pressure * damper.displaced_area
    same_fill = run.gas_pressure is None or math.isclose(
        run.gas_pressure, damper.gas_pressure, rel_tol=SAME_FILL
    )
    for figure, split, typed in (
        ("friction", run.friction, damper.friction),
        ("gas_pressure", run.gas if same_fill else None, push),
    ):
        if split is not None and split.force > 0 and typed > 0:
            spread = math.hypot(split.plus_minus / ENDS / split.force, DIRECT_SPREAD)
            yield Direct(figure=figure, logarithm=math.log(split.force / typed), spread=spread)


def _used(damper: Damper, run: DynoRun) -> tuple[list[DynoPoint], list[UnusedPoints]]:
    peaks = run.peaks
    left = []
    if len(peaks) < len(run.points):
        left.append(
            UnusedPoints(run.name, len(run.points) - len(peaks), "they are off the peak of velocity, and lag")
        )
    boils = force_curve(
        damper,
        velocities=[point.velocity for point in peaks] or [0.1],
        temperature=temperature_of(damper, run),
        clicks=run.clicks,
    ).boiling
    used = []
    whole: list[DynoPoint] = []
    for point in peaks:
        if _boils(point.velocity, boils):
            whole.append(point)
        else:
            used.append(point)
    if whole:
        left.append(
            UnusedPoints(run.name, len(whole), "oil boils there in the model, which promises nothing")
        )
    clear = [point for point in used if _damping(damper, run, point) > SHARE_OF_REST * _rest(damper, run)]
    if len(clear) < len(used):
        why = "their damping is hardly more than gas and friction may be off by"
        left.append(UnusedPoints(run.name, len(used) - len(clear), why))
    return clear, left


def _boils(velocity: float, boils: Sequence[Boiling]) -> bool:
    return any(
        one.sign * velocity > 0
        and BEFORE_BOILING * one.slowest <= abs(velocity) <= one.fastest / BEFORE_BOILING
        for one in boils
    )


def _damping(damper: Damper, run: DynoRun, point: DynoPoint) -> float:
    """Force of the oil alone against the motion, by the damper's file where the run split nothing off. [N]"""
    gas, friction = _gas(damper, run)[0], _friction(damper, run)[0]
    return point.sign * (point.force - gas) - friction


def _gas(damper: Damper, run: DynoRun) -> tuple[float, float]:
    """Push of the gas on a run, and its standard deviation. [N]"""
    if run.gas is not None:
        return run.gas.force, run.gas.plus_minus / ENDS
    pressure = damper.gas_pressure if run.gas_pressure is None else run.gas_pressure
    push = pressure * damper.displaced_area
    return push, GAUGE / 2 * push


def _friction(damper: Damper, run: DynoRun) -> tuple[float, float]:
    """Drag on a run, and its standard deviation. [N]"""
    if run.friction is not None:
        return run.friction.force, run.friction.plus_minus / ENDS
    return damper.friction, 0.25 * damper.friction


def _rest(damper: Damper, run: DynoRun) -> float:
    """How far gas and friction may be off together; one standard deviation. [N]"""
    return math.hypot(_gas(damper, run)[1], _friction(damper, run)[1])


def _stretch(damper: Damper, run: DynoRun, used: Sequence[DynoPoint]) -> Stretch:
    damping = np.array([_damping(damper, run, point) for point in used])
    signs = np.array([point.sign for point in used])
    shared = [_gas(damper, run)[1] * signs / damping, _friction(damper, run)[1] / damping]
    return Stretch(
        run=_split_as_used(damper, run),
        points=tuple(used),
        damping=damping,
        spread=np.array([*_spreads(used, damping)]),
        shared=np.array(shared),
    )


def _split_as_used(damper: Damper, run: DynoRun) -> DynoRun:
    """The run with gas and friction taken off as the fit does, so that it is drawn as it is fitted."""
    gas, friction = _gas(damper, run), _friction(damper, run)
    how = "taken from the damper's file"
    return replace(
        run,
        gas=run.gas or SplitOff(force=gas[0], plus_minus=ENDS * gas[1], how=how),
        friction=run.friction or SplitOff(force=friction[0], plus_minus=ENDS * friction[1], how=how),
    )


def _spreads(used: Sequence[DynoPoint], damping: Floats) -> Iterator[float]:
    for point, force in zip(used, damping, strict=True):
        cycle = point.spread / force if point.spread > 0 else CYCLE_TO_CYCLE
        yield math.hypot(cycle / math.sqrt(point.cycles), LEAST_SPREAD)
