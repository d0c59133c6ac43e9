"""What if: a candidate of a plan, typed by hand, gives the plan's own figures to the last printed digit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import islice
from pathlib import Path

import numpy as np
import pytest

from damping_model.stack.stack import Stack
from optimiser.errors import InputError
from optimiser.files.demo_shop import lay_out
from optimiser.files.job_reader import read_job
from optimiser.files.stack_text import lines_from_shims, shims_from_text
from optimiser.intake.bands import Band
from optimiser.jobs.planned import Planned
from optimiser.jobs.setup import JobSetup, set_up
from optimiser.jobs.what_if import WhatIf, compare, settings_of, strokes_with_force
from optimiser.model.answer import Candidate
from optimiser.model.damper_description import with_stack
from optimiser.model.edits import keys_of, stack_of
from optimiser.model.goal import Goal
from optimiser.report.band_rows import band_rows
from optimiser.report.band_table import cells_of
from optimiser.report.compare_text import case_cells
from optimiser.report.unit_system import UnitSystem
from optimiser.search.evaluator import Evaluator
from optimiser.studies.single_changes import single_changes
from tests.helpers.counts import some_of, thorough_only, tries
from tests.helpers.known_plans import KnownPlans
from tests.helpers.paths import DEMO

STORIES = sorted((DEMO / "jobs").glob("*.toml"))


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("what_if") / "shop"
    lay_out(folder)
    return folder


def every_candidate(planned: Planned) -> Iterator[Candidate]:
    """Of every rung of the ladder its best and the different ways, and the answer's own candidates."""
    if planned.answer is not None:
        yield from planned.answer.candidates
    for step in planned.ladder:
        yield step.best
        yield from (idea.best for idea in step.rung.ideas)


def typed_by_hand(stack: Stack, hole: int) -> Stack:
    """A stack as somebody writes it from the sheet, read again."""
    lines = lines_from_shims(keys_of(stack), hole=hole)
    return stack_of(shims_from_text(", ".join(lines), hole_mm=hole / 1000))


def assert_figures_are_the_plans(setup: JobSetup, candidates: Iterable[Candidate]) -> int:
    """How many candidates were typed by hand; each has the figures that a plan prints of it."""
    goal, name, job = setup.asked.goal, setup.mounted.name, setup.job
    hole = keys_of(setup.stack)[0].inner
    first = WhatIf(
        label="as it is", damper=job.damper.damper, stack_name=name, temperature=job.work.temperature
    )
    seen = 0
    for candidate in candidates:
        typed = replace(
            first,
            label="typed",
            damper=with_stack(first.damper, name, typed_by_hand(candidate.stack, hole)),
            clicks=setup.physics.settings[candidate.setting],
        )
        found = compare([first, typed], goal=goal)
        for units in UnitSystem:
            for place, row in enumerate(band_rows(goal, candidate.forces)):
                before, after, change, over, _, verdict = cells_of(row, units)
                assert case_cells(found, place, found.cases[0], units=units)[0] == before
                force, _, percent, spread, said = case_cells(found, place, found.cases[1], units=units)
                assert (force, percent, spread, said) == (after, change, over, verdict)
        seen += 1
    return seen


def candidates_of_a_search(setup: JobSetup, *, most: int) -> Iterator[Candidate]:
    """Some stacks one change and two changes away, at some settings, as a search evaluates and lists them."""
    problem, evaluator = setup.problem, Evaluator(setup.physics, cores=1)
    near = _some(setup, setup.stack, most=most)
    far = _some(setup, near[-1], most=most)
    last = len(setup.physics.settings) - 1
    for stack in (*near, *far):
        for setting in {setup.physics.setting, last // 3}:
            forces = evaluator.exact_forces(setup.physics.packed(stack), setting)
            if forces is not None:
                yield problem.candidate(stack, setting=setting, forces=forces)


def _some(setup: JobSetup, stack: Stack, *, most: int) -> list[Stack]:
    """Stacks one change away, some way apart."""
    found = single_changes(stack, mounting=setup.mounting, stock=setup.stock)
    return list(islice(found, 3, 3 + 60 * most, 60))


@pytest.mark.parametrize("story", some_of(STORIES, every=3), ids=lambda path: path.stem)
def test_what_a_search_would_list_typed_by_hand_has_the_same_figures(story: Path, shop: Path) -> None:
    job = read_job(shop / "jobs" / story.name)
    setup = set_up(job)
    candidates = candidates_of_a_search(setup, most=tries(quick=2, thorough=20))
    assert assert_figures_are_the_plans(setup, candidates) >= 4


@thorough_only("plans every story of the demo shop")
@pytest.mark.parametrize("story", STORIES, ids=lambda path: path.stem)
def test_candidates_of_every_rung_typed_by_hand_have_the_figures_of_the_plan(
    story: Path, known_plans: KnownPlans
) -> None:
    planned = known_plans.of(DEMO, story.stem)
    if planned.outcome == "basics first":
        planned = known_plans(planned.job, override_reason="to compare figures")
    assert planned.answer is not None
    assert assert_figures_are_the_plans(set_up(planned.job), every_candidate(planned)) >= len(planned.ladder)


@pytest.fixture(scope="module")
def first(shop: Path) -> tuple[WhatIf, Goal]:
    setup = set_up(read_job(shop / "jobs" / STORIES[0].name))
    damper = WhatIf(label="as it is", damper=setup.job.damper.damper, stack_name=setup.mounted.name)
    return damper, setup.asked.goal


def test_a_damper_beside_itself_changes_by_nothing(first: tuple[WhatIf, Goal]) -> None:
    found = compare([first[0], replace(first[0], label="again")], goal=first[1])
    assert found.cases[1].bands == found.cases[0].bands
    assert all(abs(result.mean) <= np.finfo(float).eps for result in found.cases[1].bands)
    assert [case.what.label for case in found.cases] == ["as it is", "again"]


def test_what_a_case_does_is_the_same_whatever_stands_beside_it(first: tuple[WhatIf, Goal]) -> None:
    warm = replace(first[0], label="warm", temperature=350.0)
    cold = replace(first[0], label="cold", temperature=280.0)
    alone, among = compare([first[0], warm], goal=first[1]), compare([first[0], cold, warm], goal=first[1])
    assert alone.cases[1].forces == among.cases[2].forces
    assert all(one.mean > 0 for one in among.cases[1].bands)
    assert all(one.mean < 0 for one in among.cases[2].bands)


def test_settings_are_every_combination_but_the_one_that_stands(first: tuple[WhatIf, Goal]) -> None:
    clicker = first[0].damper.clickers[0]
    stands = clicker.position
    found = settings_of(first[0].damper, {clicker.name: [stands, 0, 1], "of another damper": [3]})
    assert found == [{}, *({clicker.name: at} for at in (0, 1) if at != stands)]
    assert settings_of(first[0].damper, {clicker.name: [99]}) == [{}]


def test_a_band_without_force_is_refused_by_its_name(first: tuple[WhatIf, Goal]) -> None:
    bands = [Band("fast", "compression", 0.5, 1.0, 1.0)]
    assert strokes_with_force(first[0], bands) == tuple(bands)
    assert len(compare([first[0]], bands=bands).cases[0].bands) == 1
    with pytest.raises(InputError, match="nothing to compare"):
        compare([])
