"""From bands to the goal that the search reads: a least and a most force at a few velocities of each band."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.errors import InputError
from optimiser.intake.bands import RIGHT_WAY, SIGN, Band, HoldBand, Stroke, TargetBand
from optimiser.model.goal import LEAST_FORCE, Average, Goal, Role, Window, mean_weights
from optimiser.model.percent import share_text

Forces = Callable[[NDArray[np.float64]], NDArray[np.float64]]

SAMPLES: Final = 5
"""Velocities in each band: enough that a smooth curve cannot leave the band unseen between two of them."""

FAMILIAR_SPAN: Final = (0.03, 1.5)
"""Shaft velocities that a rider meets on every ride; common practice, no source. [m/s]"""

FAMILIAR_SAMPLES: Final = 3

NOTHING_OTHERWISE: Final[Mapping[str, float]] = {}
"""No stretch has a limit of its own."""

BOTH_STROKES: Final[tuple[Stroke, Stroke]] = ("compression", "rebound")


def goal_from_bands(
    *,
    targets: Sequence[TargetBand],
    holds: Sequence[HoldBand],
    familiarity: float | None,
    forces: Forces,
    least_height: float,
    most_height: float,
    samples: int = SAMPLES,
    familiar_span: tuple[float, float] = FAMILIAR_SPAN,
    familiar_strokes: Sequence[Stroke] = BOTH_STROKES,
    promised: Callable[[Sequence[Band]], Sequence[Band]] | None = None,
    right_way: tuple[float, float] = RIGHT_WAY,
    familiar_tolerances: Mapping[str, float] = NOTHING_OTHERWISE,
) -> Goal:
    """The goal that a set of bands amounts to for a damper as it is.

    Each band is judged at ``samples`` velocities in geometric steps, its ends included. Between a target and
    a held band lies a guard where nothing is promised, unless familiarity is asked for: then every stretch
    of the strokes that no band covers gets a wide window, and no target may leave that width.

    Parameters
    ----------
    targets : bands whose force is to move; at least one.
    holds : bands whose force is to stay.
    familiarity : the most that any force may move, as a share of the force before; None: no limit. [-]
    forces : damping forces [N] of the damper as it is, at signed shaft velocities [m/s], rebound negative.
    least_height, most_height : height range of the stack at rest. [m]
    samples : velocities in each band, at least two.
    familiar_span : slowest and fastest shaft velocity that familiarity covers. [m/s]
    familiar_strokes : strokes that it covers; one that nothing can change may be left out.
    promised : what is left of its stretches where no figure is promised; all of them when left out.
    right_way : parts of the wanted shift that each velocity of a target moves by, at least and at most. [-]
    familiar_tolerances : limits of its own for a stretch that no band covers, by name. [-]

    Raises
    ------
    InputError
        Naming the bands that contradict one another, or the velocity at which the force cannot be shifted.
    """
    if not targets:
        raise InputError(
            "got no target band, expected at least one: say which band is to move, and by how much."
        )
    _heights_in_order(least_height, most_height)
    _bands_apart(targets, holds)
    if familiarity is not None:
        _familiarity_leaves_room(familiarity, targets)
    windows = [target_window(band, forces, samples, familiarity, right_way) for band in targets]
    windows += [_steady_window(band, Role.HOLD, forces, samples) for band in holds]
    if familiarity is not None:
        spans = dict.fromkeys(familiar_strokes, familiar_span)
        stretches: Sequence[Band] = tuple(_uncovered([*targets, *holds], spans, familiarity))
        stretches = stretches if promised is None else tuple(map(_named, promised(stretches)))
        stretches = [
            replace(band, tolerance=familiar_tolerances.get(band.name, band.tolerance)) for band in stretches
        ]
        windows += [_steady_window(band, Role.FAMILIARITY, forces, FAMILIAR_SAMPLES) for band in stretches]
    return Goal(windows=tuple(windows), least_height=least_height, most_height=most_height)


def velocities_of(band: Band, *, samples: int = SAMPLES) -> NDArray[np.float64]:
    """Signed shaft velocities at which a band is judged: geometric steps, ends included. [m/s]"""
    return SIGN[band.stroke] * np.geomspace(band.low, band.high, samples)


def _heights_in_order(least: float, most: float) -> None:
    if not (math.isfinite(least) and math.isfinite(most) and 0 <= least <= most):
        raise InputError(
            f"got a stack height from {least * 1e3:g} to {most * 1e3:g} mm, "
            "expected the least first, not below 0."
        )


def _bands_apart(targets: Sequence[TargetBand], holds: Sequence[HoldBand]) -> None:
    for target in targets:
        for hold in holds:
            if target.meets(hold):
                how = "lies inside" if hold.low <= target.low and target.high <= hold.high else "overlaps"
                raise InputError(
                    f"target band {target.label} {how} held band {hold.label}, expected a gap between "
                    "them: "
                    "a force cannot both move and stay. Shorten one of them; the gap is the guard, where "
                    "nothing is promised."
                )
    for one, other in combinations(targets, 2):
        if one.meets(other):
            raise InputError(
                f"target band {one.label} overlaps target band {other.label}, expected them apart: "
                "one velocity cannot have two wanted forces. Join them or shorten one."
            )


def _familiarity_leaves_room(familiarity: float, targets: Sequence[TargetBand]) -> None:
    if not (math.isfinite(familiarity) and familiarity > 0):
        raise InputError(
            f"got a familiarity limit of {familiarity}, expected a share above 0 or none at all."
        )
    for band in targets:
        if band.shift is not None and abs(band.shift) > familiarity:
            raise InputError(_too_unfamiliar(band, abs(band.shift), familiarity))


def _too_unfamiliar(band: TargetBand, shift: float, familiarity: float) -> str:
    return (
        f"target band {band.label} moves by {share_text(shift, 1)}, expected at most "
        f"{share_text(familiarity, 1)}: "
        "that is the limit set so that the rider still knows the bike. "
        "Ask for less, or raise or drop the familiarity limit."
    )


def target_window(
    band: TargetBand,
    forces: Forces,
    samples: int,
    familiarity: float | None,
    right_way: tuple[float, float],
) -> Window:
    """The window of a target; parameters as those of :func:`goal_from_bands`.

    Raises
    ------
    InputError
        When the target leaves the familiarity limit, or asks a damper to push.
    """
    velocities = velocities_of(band, samples=samples)
    before = _before(band, velocities, forces)
    desired = before * (1 + band.shift) if band.shift is not None else before + (band.shift_force or 0.0)
    if not np.all(desired > 0):
        raise InputError(
            f"target band {band.label} asks for {desired.min():.0f} N "
            f"where there are {before[desired.argmin()]:.0f} N, expected a force above 0: "
            "a damper cannot push. Ask for a smaller shift."
        )
    lower, upper = np.maximum(desired - band.tolerance * before, 0.0), desired + band.tolerance * before
    average = None
    if not band.at_every_velocity:
        weights = mean_weights(tuple(velocities))
        least, wanted, most = (
            float(weights @ np.log(np.maximum(force, LEAST_FORCE) / before))
            for force in (lower, desired, upper)
        )
        average = Average(least, wanted, most)
        # a first step from words: each velocity in proportion to the averages that will do
        ends = sorted((lower, upper), key=lambda force: float(np.abs(force - before).sum()))
        near, far = ends if band.in_words else (desired, desired)
        little, much = (
            before + part * (force - before) for part, force in zip(right_way, (near, far), strict=True)
        )
        if band.in_words and np.any((near - before) * (desired - before) < 0):
            little = before
        lower, upper = np.maximum(np.minimum(little, much), 0.0), np.maximum(little, much)
    if familiarity is not None:
        moved = np.abs(desired / before - 1).max()
        if moved > familiarity * (1 + 1e-12):
            raise InputError(_too_unfamiliar(band, float(moved), familiarity))
        lower = np.maximum(lower, np.minimum(before * (1 - familiarity), desired))
        upper = np.minimum(upper, np.maximum(before * (1 + familiarity), desired))
    return _window(band, Role.TARGET, velocities, before, lower, desired, upper, average)


def _steady_window(band: Band, role: Role, forces: Forces, samples: int) -> Window:
    velocities = velocities_of(band, samples=samples)
    before = _before(band, velocities, forces)
    lower = before * max(1 - band.tolerance, 0.0)
    return _window(band, role, velocities, before, lower, before, before * (1 + band.tolerance))


def _before(band: Band, velocities: NDArray[np.float64], forces: Forces) -> NDArray[np.float64]:
    before = np.asarray(forces(velocities), dtype=float)
    bad = ~(np.isfinite(before) & (before > 0))
    if bad.any():
        place = int(bad.argmax())
        raise InputError(
            f"band {band.label}: the damper's force at {abs(velocities[place]):g} m/s is "
            f"{before[place]:g} N, expected a force above 0. The damper does nothing there, so there is "
            "nothing to shift or to hold; move the band or check the damper file."
        )
    return before


def _uncovered(
    bands: Sequence[Band], spans: Mapping[Stroke, tuple[float, float]], tolerance: float
) -> Iterator[Band]:
    """Stretches of the strokes that no band covers, a little shorter so that they share no end with one."""
    for stroke, span in spans.items():
        low = span[0]
        taken = sorted((band.low, band.high) for band in bands if band.stroke == stroke)
        for start, end in [*taken, (math.inf, math.inf)]:
            stretch_low = low * 1.02 if low > span[0] else low
            stretch_high = min(start / 1.02, span[1])
            if stretch_low < stretch_high:
                yield _named(Band("", stroke, stretch_low, stretch_high, tolerance))
            low = max(low, end)


def _named(stretch: Band) -> Band:
    """A stretch that is called by its place."""
    return replace(stretch, name=f"{stretch.stroke} {stretch.low:.2g} to {stretch.high:.2g} m/s")


def _window(
    band: Band,
    role: Role,
    velocities: NDArray[np.float64],
    before: NDArray[np.float64],
    lower: NDArray[np.float64],
    desired: NDArray[np.float64],
    upper: NDArray[np.float64],
    average: Average | None = None,
) -> Window:
    columns = (tuple(float(x) for x in column) for column in (velocities, before, lower, desired, upper))
    return Window(band.name, role, *columns, average=average)
