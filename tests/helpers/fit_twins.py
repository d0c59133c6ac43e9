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
from optimiser.dyno.run import DynoRun
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


COVERING: Final = (0.02, 0.05, 0.08, 0.13, 0.19, 0.26, 0.37, 0.52, 0.74, 1.04)
"""Peak velocities that cover the bands that tuners ask for. [m/s]"""


def covering_session(twin: Hidden, *, seed: int) -> tuple[DynoRun, ...]:
    """The runs of half a day: ten speeds, each adjuster near both ends, and as it stands cold, usual and warm."""
    return session(twin, seed=seed, speeds=COVERING, warmer=(-15.0, 25.0))


def session(
    twin: Hidden,
    *,
    seed: int,
    traits: Traits = NOISY,
    settings: tuple[Mapping[str, int], ...] | None = None,
    speeds: tuple[float, ...] = SPEEDS,
    repeats: int = 1,
    warmer: tuple[float, ...] = (),
) -> tuple[DynoRun, ...]:
    """The runs of a session, as a file of them is read.

    Parameters
    ----------
    twin : what is run.
    seed : of what the dyno adds.
    traits : what that is.
    settings : clicks of each run.
    speeds : of its peaks. [m/s]
    repeats : how often the whole is run.
    warmer : the damper as it stands is also run with oil so much warmer. [K]
    """
    asked = settings_of(twin.described) if settings is None else settings
    usual = twin.described.damper.temperature
    runs = []
    for place, (clicks, temperature) in enumerate(
        [*((clicks, usual) for clicks in asked * repeats), *(({}, usual + more) for more in warmer)]
    ):
        run = table_run(
            twin.true.damper,
            speeds=speeds,
            setting=Setting(clicks=clicks, temperature=temperature),
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


LEFT_OUT: Final = np.array([-0.9, -0.44, -0.16, -0.1, -0.03, 0.03, 0.1, 0.16, 0.44, 0.9])
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
