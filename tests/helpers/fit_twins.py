"""Dampers whose figures are hidden, as a dyno would see them, to fit to and to hold the fit against."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.force import force_curve
from damping_model.errors import ModelError
from damping_model.stack.stack import Stack
from optimiser.dyno.run import DynoRun
from optimiser.fit.fit import Fit
from optimiser.fit.fit_runs import told_by_runs
from optimiser.fit.observed import READ_TEMPERATURE
from optimiser.model.damper_description import DamperDescription
from optimiser.unknowns.damper_unknowns import ENDS
from optimiser.unknowns.unknown import RECTANGULAR_END, Distribution, Unknown
from optimiser.unknowns.varied import VariedDamper, varied
from tests.helpers.dyno_twins import SPEEDS, Setting, Traits, table_run

Floats = NDArray[np.float64]

NOISY = Traits(run_noise=0.01, cycle_noise=0.003)
"""A dyno as issue and recordings have it: a per cent from run to run, a third of it from cycle to cycle."""


@dataclass(frozen=True, kw_only=True)
class Hidden:
    """A damper with its figures drawn.

    Parameters
    ----------
    described : as its file says.
    unknowns : figures that were drawn.
    draws : where they stand, in standard deviations.
    true : the damper that the dyno sees.
    """

    described: DamperDescription
    unknowns: tuple[Unknown, ...]
    draws: Floats
    true: VariedDamper


def hidden(described: DamperDescription, seed: int) -> Hidden:
    """A damper with all its unknown figures drawn from what is known of them."""
    rng = np.random.default_rng(seed)
    unknowns = told_by_runs(described)
    while True:
        draws = np.array([_draw(unknown, rng) for unknown in unknowns])
        try:
            true = varied(described.damper, dict(zip(unknowns, draws.tolist(), strict=True)))
        except ModelError:
            continue
        return Hidden(described=described, unknowns=unknowns, draws=draws, true=true)


def _draw(unknown: Unknown, rng: np.random.Generator) -> float:
    if unknown.distribution is Distribution.RECTANGULAR:
        return float(rng.uniform(-RECTANGULAR_END, RECTANGULAR_END))
    return float(rng.standard_normal())


def settings_of(described: DamperDescription) -> tuple[Mapping[str, int], ...]:
    """A usual session: as it stands, then each adjuster near either end of its range; three times without any."""
    found: list[Mapping[str, int]] = [{}]
    for clicker in described.damper.clickers:
        most = len(clicker.areas) - 1
        found += [{clicker.name: round(0.1 * most)}, {clicker.name: round(0.9 * most)}]
    return tuple(found) if len(found) > 1 else ({}, {}, {})


def session(
    twin: Hidden,
    *,
    seed: int,
    traits: Traits = NOISY,
    settings: tuple[Mapping[str, int], ...] | None = None,
    speeds: tuple[float, ...] = SPEEDS,
    repeats: int = 1,
) -> tuple[DynoRun, ...]:
    """The runs of a session, as a file of them is read."""
    asked = settings_of(twin.described) if settings is None else settings
    runs = []
    for place, clicks in enumerate(asked * repeats):
        run = table_run(
            twin.true.damper,
            speeds=speeds,
            setting=Setting(clicks=clicks),
            traits=traits,
            seed=1000 * seed + place,
            name=f"run {place + 1}",
            steel=twin.true.steel,
        )
        runs.append(_as_read(run, twin, seed=seed, place=place))
    return tuple(runs)


def _as_read(run: DynoRun, twin: Hidden, *, seed: int, place: int) -> DynoRun:
    """A run as its file is read: off by what the reading of gas, friction and temperature leaves.

    Gas and friction are told by one slow run for the whole session, temperature is read at each.
    """
    assert run.gas is not None
    assert run.friction is not None
    assert run.temperature is not None
    off = np.random.default_rng((seed, 9)).standard_normal(2)
    warmer = READ_TEMPERATURE * np.random.default_rng((seed, 10 + place)).standard_normal()
    return replace(
        run,
        gas=replace(run.gas, force=run.gas.force + off[0] * run.gas.plus_minus / ENDS),
        friction=replace(run.friction, force=run.friction.force + off[1] * run.friction.plus_minus / ENDS),
        temperature=run.temperature + float(warmer),
        gas_pressure=twin.described.damper.gas_pressure,  # the gauge reads what the file says
    )


def off_by(measured: Floats, computed: Floats) -> float:
    """Root mean square of the difference, as a share of the measured. [-]"""
    return math.sqrt(float(np.mean(np.square(computed / measured - 1))))


def changed_stack(stack: Stack, rng: np.random.Generator) -> Stack:
    """A stack with one or two shims out, or of its own types in, the face and the clamp shim left alone."""
    shims = list(stack.shims)
    for _ in range(int(rng.integers(1, 3))):
        place = int(rng.integers(1, len(shims) - 1))
        if rng.random() < 0.5 and len(shims) > 4:
            shims.pop(place)
        else:
            shims.insert(place, shims[place])
    return Stack(tuple(shims))


def band_shift(twin: Hidden, draws: Floats, name: str, stack: Stack, velocities: Floats) -> float:
    """Mean change of a band's logarithm of force from a twin's stack to another. [-]

    Shims that come are of the coil that those inside are of: what the shelf's differ by, no run can tell.
    """
    drawn = varied(twin.described.damper, dict(zip(twin.unknowns, draws.tolist(), strict=True)))
    before, after = (
        force_curve(damper, velocities=velocities, steel=drawn.steel).damping_force
        for damper in (drawn.damper, drawn.with_stack(name, stack, stays=lambda _: True))
    )
    return float(np.log(after / before).mean())


def shift_slopes(
    twin: Hidden, draws: Floats, name: str, stack: Stack, velocities: Floats
) -> tuple[float, Floats]:
    """The change of a band at some draws, and its change by each of them."""
    here = band_shift(twin, draws, name, stack, velocities)
    slopes = np.zeros(draws.size)
    for place in range(draws.size):
        moved, step = draws.copy(), -0.5 if draws[place] > 1 else 0.5
        moved[place] += step
        slopes[place] = (band_shift(twin, moved, name, stack, velocities) - here) / step
    return here, slopes


@dataclass(frozen=True, kw_only=True)
class ShiftCase:
    """A band's change that a fit predicted.

    Parameters
    ----------
    inside : whether the true change lies in the fit's interval.
    narrower : width of that interval over the one without a fit. [-]
    """

    inside: bool
    narrower: float


def shift_cases(twin: Hidden, fit: Fit, *, count: int, seed: int) -> list[ShiftCase]:
    """Changes of bands by changed stacks, those that move the band by half a per cent or more."""
    rng = np.random.default_rng(seed)
    found: list[ShiftCase] = []
    for _ in range(4 * count):
        mounted = twin.described.stacks[rng.integers(len(twin.described.stacks))]
        stack = changed_stack(mounted.stack, rng)
        low, high = ((0.05, 0.15), (0.15, 0.6))[rng.integers(2)]
        for sign in (1.0, -1.0):
            velocities = sign * np.geomspace(low, high, 4)
            true = band_shift(twin, twin.draws, mounted.name, stack, velocities)
            if abs(true) < 0.005 or len(found) == count:
                continue
            told, slopes = shift_slopes(twin, fit.knowledge.mean, mounted.name, stack, velocities)
            _, before = shift_slopes(twin, np.zeros(twin.draws.size), mounted.name, stack, velocities)
            half = ENDS * math.sqrt(float(slopes @ fit.knowledge.covariance @ slopes))
            without = ENDS * math.sqrt(float(before @ before))
            found.append(ShiftCase(inside=abs(true - told) <= half, narrower=half / without))
    return found


LEFT_OUT: Final = np.array([-0.75, -0.4, -0.18, -0.08, -0.03, 0.03, 0.08, 0.18, 0.4, 0.75])
"""Velocities between those of a session. [m/s]"""


def left_out_miss(twin: Hidden, draws: Floats) -> float:
    """How far the force is off at velocities and clicks that were not fitted to. [-]"""
    drawn = varied(twin.described.damper, dict(zip(twin.unknowns, draws.tolist(), strict=True)))
    settings: list[Mapping[str, int]] = [{}]
    settings += [
        {clicker.name: round(0.4 * (len(clicker.areas) - 1))} for clicker in twin.described.damper.clickers
    ]
    both = [
        np.concatenate(
            [
                force_curve(one.damper, velocities=LEFT_OUT, clicks=clicks, steel=one.steel).damping_force
                for clicks in settings
            ]
        )
        for one in (twin.true, drawn)
    ]
    return off_by(both[0], both[1])
