"""How far a band moved on the dyno: twins whose truth is known."""

from dataclasses import replace

import numpy as np
import pytest

from damping_model.damper.force import force_curve
from damping_model.stack.stack import Stack
from optimiser.dyno.on_bands import RUN_TO_RUN, at_setting, band_move, measured_forces
from optimiser.dyno.run import DynoRun
from optimiser.files.damper_builder import read_damper
from optimiser.model.damper_description import with_stack
from optimiser.model.goal import mean_weights
from tests.helpers.dyno_twins import Setting, Traits, table_run
from tests.helpers.paths import DEMO

DAMPER = read_damper(DEMO / "dampers" / "dunnock_shock.toml").damper
STACK = "compression stack"
SHIMS = DAMPER.stack_path(STACK).stack.shims
CHANGED = with_stack(DAMPER, STACK, Stack((SHIMS[0], *SHIMS)))
SPEEDS = tuple(np.geomspace(0.02, 1.5, 12))
BAND = tuple(np.geomspace(0.08, 0.4, 7))
STILL = Traits(cycle_noise=0.0)


def true_move(velocities: tuple[float, ...]) -> float:
    before, after = (
        force_curve(one, velocities=velocities).force_against_motion for one in (DAMPER, CHANGED)
    )
    return float(np.log(after / before) @ mean_weights(velocities))


def moved(before: list[DynoRun], after: list[DynoRun], velocities: tuple[float, ...] = BAND):  # type: ignore[no-untyped-def]
    at = np.array(velocities)
    return band_move(measured_forces(before, at), measured_forces(after, at), velocities)


def test_without_noise_the_move_is_that_of_the_dampers() -> None:
    found = moved(
        [table_run(DAMPER, speeds=SPEEDS, traits=STILL)], [table_run(CHANGED, speeds=SPEEDS, traits=STILL)]
    )
    assert found is not None
    assert found.average == pytest.approx(true_move(BAND), abs=0.001)
    assert found.share == pytest.approx(1.0)


def test_rebound_bands_are_read_at_negative_velocities() -> None:
    band = tuple(-speed for speed in BAND)
    found = moved(
        [table_run(DAMPER, speeds=SPEEDS, traits=STILL)],
        [table_run(CHANGED, speeds=SPEEDS, traits=STILL)],
        band,
    )
    assert found is not None
    assert found.average == pytest.approx(true_move(band), abs=0.001)


def test_runs_of_one_velocity_each_make_one_curve() -> None:
    before, after = (
        [table_run(one, speeds=(speed,), traits=STILL) for speed in SPEEDS] for one in (DAMPER, CHANGED)
    )
    found = moved(before, after)
    assert found is not None
    assert found.average == pytest.approx(true_move(BAND), abs=0.001)


def test_the_stated_uncertainty_covers_runs_that_differ() -> None:
    """Of 200 pairs of sessions with three runs each, 95 % lie within 1.96 standard uncertainties, give or take."""
    noise, off = Traits(run_noise=0.008, cycle_noise=0.003), []
    for seed in range(200):
        before, after = (
            [table_run(one, speeds=SPEEDS, traits=noise, seed=10 * seed + n + m) for n in range(3)]
            for m, one in ((0, DAMPER), (5, CHANGED))
        )
        found = moved(before, after)
        assert found is not None
        off.append((found.average - true_move(BAND)) / found.uncertainty)
    assert 0.90 <= np.mean(np.abs(off) < 1.96) <= 0.99


def test_a_single_run_carries_the_usual_difference_between_runs() -> None:
    found = measured_forces([table_run(DAMPER, traits=STILL)], np.array(BAND))
    assert found.uncertainty == RUN_TO_RUN


def test_a_band_that_the_runs_hardly_reach_is_not_told() -> None:
    fast = [table_run(DAMPER, speeds=(0.3, 0.6, 1.0), traits=STILL)]
    assert moved(fast, fast) is None
    half = [table_run(DAMPER, speeds=(0.15, 0.3, 0.6, 1.0), traits=STILL)]
    found = moved(half, half)
    assert found is not None
    assert found.average == pytest.approx(0.0, abs=1e-12)
    assert 0.5 <= found.share < 1.0


def test_runs_at_other_clicks_or_temperatures_are_left_out_with_the_reason() -> None:
    name = DAMPER.clickers[0].name
    here = table_run(DAMPER, setting=Setting(clicks={name: 2}), name="here")
    there = table_run(DAMPER, setting=Setting(clicks={name: 4}), name="there")
    cold = replace(here, name="cold", temperature=280.0)
    found = at_setting([here, there, cold], clicks={name: 2}, temperature=here.temperature)
    assert found.runs == (here,)
    assert found.left_out == (
        f"there: left out, {name} 4 out instead of 2.",
        "cold: left out, 33 K from the other runs.",
    )
