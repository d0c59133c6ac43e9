"""How surely builds keep a goal."""

from __future__ import annotations

import time

import numpy as np
import pytest

from damping_model.stack.stack import Stack
from optimiser.files.job_reader import read_job
from optimiser.jobs.setup import set_up
from optimiser.model.goal import mean_change
from optimiser.spread.directions import Directions
from optimiser.spread.drawn_forces import Built, DrawnForces
from optimiser.spread.model_uncertainty import NO_MODEL_UNCERTAINTY, ModelUncertainty
from optimiser.spread.spread import DRAWS, Spread, spreads
from optimiser.unknowns.damper_unknowns import damper_unknowns
from optimiser.unknowns.knowledge import Knowledge
from optimiser.unknowns.unknown import Owner, Unknown
from tests.helpers.paths import DEMO
from tests.helpers.whole_model import WholeModel

SETUP = set_up(read_job(DEMO / "jobs" / "j_buggy_whoops.toml"))
GOAL, DAMPER = SETUP.asked.goal, SETUP.job.damper.damper
PRESENT = Built(SETUP.stack, SETUP.physics.setting)
ONE_OUT = Built(Stack(SETUP.stack.shims[1:]), SETUP.physics.setting)
UNKNOWNS = damper_unknowns(SETUP.job.damper, comes=[0.15e-3])
PLACE = {
    "stack_name": SETUP.mounted.name,
    "velocities": GOAL.velocities,
    "settings": SETUP.physics.settings,
}


def found(
    *builds: Built,
    unknowns: tuple[Unknown, ...] = UNKNOWNS,
    error: ModelUncertainty = NO_MODEL_UNCERTAINTY,
    seed: int = 1,
    draws: int = 512,
) -> tuple[Spread, ...]:
    directions = Directions.of(Knowledge.prior(unknowns))
    forces = DrawnForces(DAMPER, directions=directions, **PLACE)  # type: ignore[arg-type]
    return spreads(
        forces, GOAL, present=PRESENT, builds=builds, model_uncertainty=error, seed=seed, draws=draws
    )


def test_a_damper_left_as_it_is_changes_by_nothing_whatever_it_is_like() -> None:
    (left,) = found(PRESENT, error=ModelUncertainty())
    assert {(band.low, band.high) for band in left.bands} == {(0.0, 0.0)}
    assert all(band.kept == 1 for band in left.bands if band.name != "whoops")
    assert left.chance == 0  # the target has to move
    assert left.carriers == ()


@pytest.mark.parametrize("figure", ["youngs_modulus", "150"])
def test_with_one_normal_unknown_the_ends_of_an_interval_are_what_its_own_ends_lead_to(figure: str) -> None:
    """JCGM 101:2008: where the model is monotone, quantiles go through it."""
    (unknown,) = (
        one for one in UNKNOWNS if one.figure == figure and one.owner in {Owner.STEEL, Owner.SHIMS_INSIDE}
    )
    (spread,) = found(ONE_OUT, unknowns=(unknown,), draws=4000)
    whole = WholeModel(DAMPER, **PLACE)  # type: ignore[arg-type]
    end = 1.96 if figure == "youngs_modulus" else 0.95 * np.sqrt(3)
    ends = []
    for draw in (-end, end):
        before, after = whole.forces({unknown: draw}, [PRESENT, ONE_OUT])
        window, part = GOAL.parts[0]
        ends.append(float(np.expm1(mean_change(window, GOAL.before[part] * np.exp(after - before)[part]))))
    band = spread.bands[0]
    close = 0.06 * (band.high - band.low)
    assert [band.low, band.high] == pytest.approx(sorted(ends), abs=close)


def test_shims_that_stay_are_the_same_steel_so_most_of_their_error_cancels() -> None:
    """One coil a little too thick moves every force, and the change that one shim more makes far less."""
    (unknown,) = (one for one in UNKNOWNS if (one.owner, one.figure) == (Owner.SHIMS_INSIDE, "150"))
    directions = Directions.of(Knowledge.prior([unknown]))
    forces = DrawnForces(DAMPER, directions=directions, **PLACE)  # type: ignore[arg-type]
    before, after = forces.logs(np.array([[-1.0], [1.0]]), [PRESENT, ONE_OUT]).swapaxes(0, 1)
    moved = np.ptp(before, axis=0)[:10]
    assert moved.min() > 0.02
    assert np.ptp(after - before, axis=0)[:10].max() < moved.min() / 5


def test_all_limits_hold_no_more_often_than_the_one_that_fails_most() -> None:
    (spread,) = found(ONE_OUT, error=ModelUncertainty())
    assert spread.most_missed is not None
    assert spread.chance <= spread.most_missed.kept == min(band.kept for band in spread.bands)
    assert spread.most_missed.missed_by > 0


def test_the_same_sample_is_drawn_for_every_build_and_another_with_another_seed() -> None:
    once, again = found(ONE_OUT), found(PRESENT, ONE_OUT)
    assert once[0] == again[1]
    assert found(ONE_OUT, seed=2) != once
    assert found(ONE_OUT, seed=2)[0].chance == pytest.approx(once[0].chance, abs=0.05)


def test_ten_stacks_are_drawn_within_ten_seconds() -> None:
    shims, setting = SETUP.stack.shims, SETUP.physics.setting
    ten = [Built(Stack((*shims[:place], *shims[place + 1 :])), setting) for place in range(1, 11)]
    begun = time.process_time()
    assert len(found(*ten, error=ModelUncertainty(), draws=DRAWS)) == 10
    assert time.process_time() - begun < 10


def test_the_model_alone_carries_what_nothing_else_does() -> None:
    (unknown,) = (one for one in UNKNOWNS if one.owner is Owner.STEEL)
    (spread,) = found(ONE_OUT, unknowns=(unknown,), error=ModelUncertainty(of_the_change=0.5))
    assert spread.carriers[0].unknown is None
    assert spread.carriers[0].share == pytest.approx(1, abs=0.05)
