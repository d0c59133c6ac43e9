"""A build that was measured, beside its promise: twins of a damper whose truth is hidden."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from damping_model.damper.damper import Damper
from damping_model.damper.force import force_curve
from damping_model.stack.stack import Stack
from optimiser.errors import InputError
from optimiser.files.damper_builder import read_damper
from optimiser.jobs.before_after import AskedBand, BeforeAfter, BuiltStack, before_after
from optimiser.model.damper_description import with_stack
from optimiser.model.goal import Role, mean_weights
from optimiser.unknowns.damper_unknowns import damper_unknowns
from optimiser.unknowns.unknown import RECTANGULAR_END, Distribution
from optimiser.unknowns.varied import varied
from tests.helpers.counts import tries
from tests.helpers.dyno_twins import Setting, Traits, table_run
from tests.helpers.paths import DEMO

DESCRIBED = read_damper(DEMO / "dampers" / "dunnock_shock.toml")
STACK = "compression stack"
SHIMS = DESCRIBED.damper.stack_path(STACK).stack.shims
NEW = Stack((SHIMS[0], *SHIMS))
AT = {clicker.name: clicker.position for clicker in DESCRIBED.damper.clickers}
BUILT = BuiltStack(damper=DESCRIBED, stack_name=STACK, new=NEW, clicks_before=AT, clicks_after=AT)
BANDS = (
    AskedBand("support", Role.TARGET, tuple(np.geomspace(0.06, 0.2, 7).tolist())),
    AskedBand("edges", Role.HOLD, tuple(np.geomspace(0.6, 1.2, 5).tolist())),
)
SPEEDS = (0.05, 0.08, 0.13, 0.2, 0.3, 0.5, 0.8, 1.2)
NOISE = Traits(cycle_noise=0.003, run_noise=0.004)
TWINS = tries(quick=4, thorough=20)


def twin(seed: int) -> tuple[Damper, Damper]:
    """The damper as it truly is, before and after: its unknown figures drawn from what is known of them."""
    rng = np.random.default_rng(seed)
    unknowns = damper_unknowns(DESCRIBED, comes=[SHIMS[0].thickness])
    draws = {
        one: float(
            rng.uniform(-RECTANGULAR_END, RECTANGULAR_END)
            if one.distribution is Distribution.RECTANGULAR
            else rng.standard_normal()
        )
        for one in unknowns
    }
    real = varied(DESCRIBED.damper, draws)
    return real.damper, real.with_stack(STACK, NEW, stays=lambda place: place > 0)


@cache
def measured(seed: int) -> BeforeAfter:
    before, after = twin(seed)
    return before_after(
        BUILT,
        BANDS,
        before=[table_run(before, speeds=SPEEDS, traits=NOISE, seed=seed)],
        after=[table_run(after, speeds=SPEEDS, traits=NOISE, seed=seed + 1000)],
    )


def test_a_damper_that_is_as_described_does_what_was_promised() -> None:
    new = with_stack(DESCRIBED.damper, STACK, NEW)
    still = Traits(cycle_noise=0.0)
    found = before_after(
        BUILT,
        BANDS,
        before=[table_run(DESCRIBED.damper, speeds=SPEEDS, traits=still)],
        after=[table_run(new, speeds=SPEEDS, traits=still)],
    )
    for outcome, band in zip(found.bands, BANDS, strict=True):
        was, now = (
            force_curve(one, velocities=band.velocities).force_against_motion
            for one in (DESCRIBED.damper, new)
        )
        assert outcome.predicted == pytest.approx(np.log(now / was) @ mean_weights(band.velocities))
        assert outcome.measured == pytest.approx(outcome.predicted, abs=0.002)
        assert outcome.low < outcome.predicted < outcome.high
        assert outcome.inside
    assert not found.level_only


def test_of_many_dampers_that_differ_from_their_description_nineteen_in_twenty_do() -> None:
    inside = [band.inside for seed in range(TWINS) for band in measured(seed).bands]
    assert len(inside) == 2 * TWINS
    assert np.mean(inside) >= (0.90 if TWINS >= 20 else 0.75)


def test_the_prediction_is_made_at_the_temperature_of_the_runs() -> None:
    new = with_stack(DESCRIBED.damper, STACK, NEW)
    cold = Setting(temperature=DESCRIBED.damper.temperature - 25)
    found = before_after(
        BUILT,
        BANDS,
        before=[table_run(DESCRIBED.damper, speeds=SPEEDS, setting=cold)],
        after=[table_run(new, speeds=SPEEDS, setting=cold)],
    )
    assert found.temperature == pytest.approx(cold.temperature)
    assert found.bands[0].predicted != pytest.approx(measured(0).bands[0].predicted, abs=1e-4)
    assert all(band.inside for band in found.bands)


def test_without_a_run_before_the_change_is_counted_from_the_model_and_that_is_said() -> None:
    _, after = twin(1)
    found = before_after(BUILT, BANDS, before=[], after=[table_run(after, speeds=SPEEDS)])
    assert found.level_only


def test_a_band_that_the_runs_do_not_reach_is_left_out_by_name() -> None:
    new = with_stack(DESCRIBED.damper, STACK, NEW)
    slow = (0.05, 0.1, 0.2, 0.4)
    found = before_after(
        BUILT,
        BANDS,
        before=[table_run(DESCRIBED.damper, speeds=slow)],
        after=[table_run(new, speeds=slow)],
    )
    assert [band.name for band in found.bands] == ["support"]
    assert found.notes == ("Band 'edges': left out, the runs reach less than half of it.",)


def test_runs_at_other_clicks_are_refused_with_where_the_clickers_were() -> None:
    name = next(iter(AT))
    run = replace(table_run(DESCRIBED.damper), clicks={name: AT[name] + 1})
    with pytest.raises(InputError, match=rf"{name} {AT[name] + 1} out instead of {AT[name]}"):
        before_after(BUILT, BANDS, before=[], after=[run])
