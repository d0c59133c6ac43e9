"""Drawn dampers at once against the whole model asked for each of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from damping_model.damper.force import force_curve
from damping_model.stack.stack import Stack
from optimiser.files.job_reader import read_job
from optimiser.jobs.setup import JobSetup, set_up
from optimiser.model.edits import difference
from optimiser.spread.drawn_forces import Built
from optimiser.unknowns.unknown import Owner
from optimiser.unknowns.varied import varied
from tests.helpers.counts import thorough_only, tries
from tests.helpers.drawn_both_ways import Drawn, apart
from tests.helpers.known_plans import KnownPlans
from tests.helpers.paths import DEMO

MOST_BUILDS, DRAWS = 2, 300
"""``bench_spread`` draws 5,000 of every candidate, twenty minutes; its figures are on the model's page."""

STORIES = sorted(path.stem for path in (DEMO / "jobs").glob("*.toml") if not path.stem.startswith("c_"))


def one_swapped(setup: JobSetup) -> Built:
    """The damper with one shim next to the piston made half as thick again."""
    face, second, *rest = setup.stack.shims
    thicker = replace(second, thickness=1.5 * second.thickness)
    return Built(Stack((face, thicker, *rest)), setup.physics.setting)


def test_the_whole_model_that_is_asked_here_is_the_force_curve() -> None:
    setup = set_up(read_job(DEMO / "jobs" / "h_motocross.toml"))
    drawn, build = Drawn(setup), one_swapped(setup)
    comes = set(difference(setup.stack, build.stack).put_in)
    for row in drawn.directions.sample(tries(quick=2, thorough=20), np.random.default_rng(3)):
        draws = drawn.directions.draws(dict(enumerate(row)))
        moved = varied(setup.job.damper.damper, draws)
        damper = moved.with_stack(setup.mounted.name, build.stack, stays=lambda place: place not in comes)
        curve = force_curve(
            damper,
            velocities=setup.asked.goal.velocities,
            steel=moved.steel,
            clicks=setup.physics.settings[build.setting],
        )
        found = np.exp(drawn.whole.forces(draws, [build])[0])
        assert found == pytest.approx(np.abs(curve.damping_force), rel=1e-5)


def test_a_stack_of_one_stage_is_drawn_as_exactly_as_anyone_reads_it() -> None:
    drawn = Drawn(set_up(read_job(DEMO / "jobs" / "j_buggy_whoops.toml")))
    quick, whole = drawn.both([one_swapped(drawn.setup)], tries(quick=25, thorough=200))
    assert np.abs(quick - whole).max() < 4e-3
    assert np.abs(quick - whole).std() < 0.03 * whole.std(axis=0).max()


def test_near_a_second_stage_the_change_is_many_times_less_sure_and_is_drawn_so() -> None:
    """One face shim out: nearly sure at 0.12 m/s, where the second stage is at work, not at all at 0.06."""
    drawn = Drawn(set_up(read_job(DEMO / "jobs" / "a_more_support.toml")))
    build = Built(Stack(drawn.setup.stack.shims[1:]), drawn.setup.physics.setting)
    quick, whole = drawn.both([build], tries(quick=60, thorough=300))
    deviations = whole[:, 0, :5].std(axis=0)
    assert deviations[0] > 5 * deviations[-1]
    assert quick[:, 0, :5].std(axis=0) == pytest.approx(deviations, rel=0.1)


def test_a_shim_thicker_than_called_does_less_beside_others_that_are_too_and_is_drawn_so() -> None:
    drawn = Drawn(set_up(read_job(DEMO / "jobs" / "i_fork_dives.toml")))
    face, *rest = drawn.setup.stack.shims
    build = Built(Stack((face, replace(face, thickness=0.15e-3), *rest)), drawn.setup.physics.setting)
    figures = [(one.owner, one.figure) for one in drawn.directions.moved_most]
    ours, theirs = (
        figures.index(one) for one in ((Owner.SHIMS_INSIDE, "100"), (Owner.SHIMS_OF_THE_SHELF, "150"))
    )
    steps = np.zeros((3, len(drawn.directions)))
    steps[[0, 2], ours] = steps[[1, 2], theirs] = 1.5
    quick, whole = (way([build], steps)[:, 0] for way in (drawn.quick_changes, drawn.whole_changes))
    unmoved = drawn.whole_changes([build], np.zeros((1, len(drawn.directions))))[0, 0]
    beyond = whole[2] - whole[0] - whole[1] + unmoved
    assert np.abs(beyond).max() > 8e-4
    assert np.abs(quick[2] - whole[2]).max() < 0.3 * np.abs(beyond).max()


@thorough_only("plans every story of the demo and draws its dampers by the whole model")
@pytest.mark.parametrize("story", STORIES)
def test_intervals_and_chances_are_those_of_the_whole_model_on_every_demo_candidate(
    story: str, known_plans: KnownPlans
) -> None:
    """Interval ends within a tenth of the width, chances within two points (JCGM 101:2008, clause 8)."""
    planned = known_plans.of(DEMO, story)
    setup = set_up(planned.job)
    assert planned.answer is not None
    listed = (*planned.answer.candidates, planned.answer.nearest, *(step.best for step in planned.ladder))
    builds = list(dict.fromkeys(Built(one.stack, one.setting) for one in listed if one is not None))
    for found in apart(setup.asked.goal, *Drawn(setup).both(builds[:MOST_BUILDS], DRAWS)):
        assert found.ends < 0.1
        assert found.chance < 0.02
