"""Plan and resolution speak of one thing: the steps of one change beside what a target asks."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from damping_model.stack.stack import Stack
from optimiser.jobs.finer_steps import called_too_coarse, steps_advice, steps_words
from optimiser.jobs.job import WorkOptions
from optimiser.jobs.setup import JobSetup
from optimiser.model.rules import rules_for, violations
from optimiser.search import Control, solve
from optimiser.studies.fineness import coarse_steps
from optimiser.studies.resolution import single_steps
from optimiser.studies.single_changes import single_changes
from tests.helpers import toy
from tests.helpers.counts import thorough_only, tries


def toy_setup(seed: int, *, most_changes: int) -> JobSetup:
    """A random stack and shelf; a band moves about as far as two changes move it, another is held."""
    rng = np.random.default_rng(seed)
    physics = toy.ToyPhysics()
    while True:
        start = toy.random_stack(rng, int(rng.integers(4, 7)))
        if not violations(rules_for(start, toy.MOUNTING), start, toy.MOUNTING):
            break
    stock = toy.random_stock(rng, 5)
    before = physics.forces(physics.packed(start), 0)
    made = start
    for _ in range(2):
        near = list(single_changes(made, mounting=toy.MOUNTING, stock=stock))
        made = near[int(rng.integers(len(near)))]
    desired = physics.forces(physics.packed(made), 0) * float(rng.choice([1.0, 1.0, 1.1]))
    tolerance = np.where(np.arange(before.size) < 3, rng.uniform(0.002, 0.02), rng.uniform(0.1, 0.5))
    goal = toy.averaged(toy.goal(physics, start, desired=desired, tolerance=tolerance))
    return cast(
        "JobSetup",
        SimpleNamespace(
            job=SimpleNamespace(path=Path("jobs/toy.toml"), work=WorkOptions(most_changes=most_changes)),
            asked=SimpleNamespace(goal=goal),
            stack=start,
            stock=stock,
            mounting=toy.MOUNTING,
            physics=physics,
            forces=lambda one: physics.forces(physics.packed(one), 0),
            computed_forces=lambda one: physics.forces(physics.packed(one), 0),
            nothing_against=lambda _: True,
            problem=toy.problem(physics, start, stock, goal),
        ),
    )


def changed(setup: JobSetup) -> list[Stack]:
    return list(single_changes(setup.stack, mounting=setup.mounting, stock=setup.stock))


@pytest.mark.parametrize("seed", range(tries(quick=2, thorough=24)))
def test_both_views_agree_on_random_problems_and_with_the_search(seed: int) -> None:
    """What plan works out of few stacks is what resolution finds among all; a step that meets is no coarseness."""
    for most_changes in (1, 2):
        setup = toy_setup(seed, most_changes=most_changes)
        steps = single_steps(setup.asked.goal, changed=changed(setup), forces=setup.forces)
        by_plan = coarse_steps(
            setup.asked.goal,
            stack=setup.stack,
            changed=changed(setup),
            coarse=setup.forces,
            forces=setup.forces,
        )
        (by_resolution,) = steps.around
        assert (by_plan is not None) == by_resolution.between
        if by_plan is not None:
            assert (by_plan.below, by_plan.above) == (by_resolution.below, by_resolution.above)
        answer = solve(setup.problem, most_changes=most_changes, control=Control(cores=1), find_nearest=False)
        if most_changes == 1:
            assert bool(answer.candidates) == (steps.meeting > 0)
        said = " ".join(steps_words(setup, steps, control=Control(cores=1)))
        assert ("too coarse" in said) == (by_resolution.between and not answer.candidates)
        if by_plan is not None and called_too_coarse(setup, answer):
            advice = " ".join(steps_advice(setup, by_plan, answer, control=Control(cores=1)))
            assert advice == said


@thorough_only("two changes are searched for every problem")
def test_what_would_do_is_tried_before_it_is_said() -> None:
    """Over the random problems: two changes that are said to meet a goal do, and those said not to do not."""
    told: set[str] = set()
    for seed in range(tries(quick=12, thorough=24)):
        setup = toy_setup(seed, most_changes=1)
        steps = single_steps(setup.asked.goal, changed=changed(setup), forces=setup.forces)
        said = " ".join(steps_words(setup, steps, control=Control(cores=1)))
        answer = solve(setup.problem, most_changes=2, control=Control(cores=1), find_nearest=False)
        if "Two changes meet it: shimwright plan jobs/toy.toml --changes 2" in said:
            assert answer.candidates
            told.add("two changes")
        if "Proven: 2 changes do not meet it either." in said:
            assert not answer.candidates
            told.add("none")
    assert "two changes" in told
