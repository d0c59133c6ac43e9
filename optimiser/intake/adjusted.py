"""What is asked otherwise than a job's file says: the tolerance or the shift of one band, by its name.

Bands that come from words or by default exist only once the goal is made, so they are adjusted there.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from optimiser.errors import InputError
from optimiser.intake.bands import HoldBand, TargetBand
from optimiser.intake.goal_builder import Forces, velocities_of
from optimiser.model.goal import LEAST_FORCE, Goal, Role, Window, mean_weights

Floats = NDArray[np.float64]

SAME: Final = 1e-12
"""Shifts closer than this are the same. [-]"""


@dataclass(frozen=True, slots=True)
class Adjusted:
    """Bands that are asked otherwise than the job says.

    Parameters
    ----------
    tolerances : of held bands and limits on the rest, by name, as shares of the force before. [-]
    shifts : of targets, by name, as shares of the force before, on average. [-]
    """

    tolerances: Mapping[str, float] = field(default_factory=dict)
    shifts: Mapping[str, float] = field(default_factory=dict)

    def targets(self, bands: Iterable[TargetBand], forces: Forces) -> tuple[TargetBand, ...]:
        """Targets with the shifts that are asked; forces [N] are those of the damper as it is."""
        return tuple(
            with_shift(band, self.shifts[band.name], *_before(band, forces))
            if band.name in self.shifts
            else band
            for band in bands
        )

    def holds(self, bands: Iterable[HoldBand]) -> tuple[HoldBand, ...]:
        """Held bands with the tolerances that are asked."""
        return tuple(
            replace(band, tolerance=self.tolerances.get(band.name, band.tolerance)) for band in bands
        )

    def reasons(
        self,
        goal: Goal,
        *,
        targets: Sequence[TargetBand],
        holds: Sequence[HoldBand],
        familiarity: float | None,
        forces: Forces,
    ) -> Iterator[str]:
        """What is asked otherwise, in sentences.

        Parameters
        ----------
        goal : with everything adjusted.
        targets, holds, familiarity : as the job has them.
        forces : damping forces [N] of the damper as it is, at signed shaft velocities [m/s].

        Raises
        ------
        InputError
            When a name is that of no such band, or of several.
        """
        steady = {band.name: band.tolerance for band in holds}
        for name, tolerance in self.tolerances.items():
            window = _only(goal, name, (Role.HOLD, Role.FAMILIARITY), option="--hold", what="held band")
            was = steady.get(window.name, familiarity)
            yield f"'{name}' is allowed {percent(tolerance)} instead of {percent(was or 0.0)}, by option."
        moved = {band.name: band for band in targets}
        for name, shift in self.shifts.items():
            _only(goal, name, (Role.TARGET,), option="--ask", what="target")
            was = shift_of(moved[name], *_before(moved[name], forces))
            yield f"'{name}' is asked for {percent(shift)} instead of {percent(was)}, by option."


def percent(share: float) -> str:
    """A share as a tuner reads it. [-]"""
    return f"{100 * share:.4g} %"


def shift_of(band: TargetBand, before: Floats, velocities: Floats) -> float:
    """What a target asks for on average, as a share of the force before. [-]

    Parameters
    ----------
    band : the target.
    before : damping force of the damper as it is at each velocity (velocities,). [N]
    velocities : of the band. [m/s]
    """
    if band.shift is not None:
        return band.shift
    return _mean_shift(band.shift_force or 0.0, before, velocities)


def with_shift(band: TargetBand, shift: float, before: Floats, velocities: Floats) -> TargetBand:
    """A target that asks for another shift on average; one in newtons asks for other newtons.

    Parameters
    ----------
    band : the target.
    shift : as a share of the force before. [-]
    before, velocities : as :func:`shift_of` takes them.
    """
    if band.shift is not None:
        return replace(band, shift=shift)
    if abs(shift - shift_of(band, before, velocities)) < SAME:
        return band
    ends = shift * float(before.min()), shift * float(before.max())
    off = [_mean_shift(end, before, velocities) - shift for end in ends]
    newtons = (
        ends[0]
        if off[0] * off[1] >= 0
        else brentq(lambda force: _mean_shift(force, before, velocities) - shift, *ends, xtol=1e-12)
    )
    return replace(band, shift_force=float(newtons))


def _before(band: TargetBand, forces: Forces) -> tuple[Floats, Floats]:
    velocities = velocities_of(band)
    return np.asarray(forces(velocities), dtype=float), velocities


def _mean_shift(force: float, before: Floats, velocities: Floats) -> float:
    ratio = np.maximum(before + force, LEAST_FORCE) / before
    return float(np.expm1(mean_weights(tuple(velocities)) @ np.log(ratio)))


def _only(goal: Goal, name: str, roles: Sequence[Role], *, option: str, what: str) -> Window:
    """The window that a name stands for."""
    there = [window for window in goal.windows if window.role in roles]
    named = [window for window in there if window.name == name]
    if len(named) == 1:
        return named[0]
    if named:
        raise InputError(
            f"{option}: got '{name}', the name of {len(named)} bands, expected that of one. "
            "Name them apart in the job file."
        )
    names = ", ".join(f"'{known}'" for known in Counter(window.name for window in there)) or "none"
    raise InputError(f"{option}: got '{name}', expected a {what} of this job: {names}.")
