"""In which order tests are handed to workers: what takes longest first, so that all workers end together."""

from __future__ import annotations

from collections import Counter
from typing import Final

import pytest
from xdist.scheduler import LoadFileScheduling

LONGEST: Final = (
    "tests/optimiser/cli/test_mutations.py",
    "tests/optimiser/search/test_against_brute_force.py",
    "tests/optimiser/search/test_solve.py",
    "tests/optimiser/bench/test_stories_in_browser.py",
    "tests/optimiser/several/test_against_brute_force.py",
    "tests/optimiser/batch/test_many_jobs.py",
    "tests/optimiser/bench/test_in_browser.py",
    "tests/optimiser/bench/test_by_keyboard.py",
    "tests/optimiser/bench/test_studies_in_browser.py",
    "tests/test_house.py",
    "tests/optimiser/fit/test_fit_runs.py",
    "tests/optimiser/ledger/test_every_call.py",
    "tests/optimiser/search/bounds/test_bounds.py",
    "tests/optimiser/report/test_story_sheets.py",
    "tests/optimiser/jobs/test_symptom_plans.py",
    "tests/benchmarks/test_jobs_in_words.py",
    "tests/damping_model/damper/test_stack_sums.py",
    "tests/optimiser/cli/test_plan_advice.py",
    "tests/optimiser/jobs/test_what_if.py",
    "tests/optimiser/spread/test_drawn_forces.py",
    "tests/optimiser/search/test_nothing_boils.py",
    "tests/optimiser/spread/test_confident.py",
    "tests/optimiser/cli/test_shop_and_resolution.py",
    "tests/optimiser/studies/test_shopping.py",
    "tests/optimiser/studies/test_loosenings.py",
    "tests/optimiser/studies/test_reach.py",
    "tests/optimiser/search/screen/test_screen.py",
    "tests/optimiser/search/test_ladder.py",
    "tests/optimiser/search/parallel/test_partition.py",
    "tests/optimiser/jobs/test_finer_steps.py",
    "tests/optimiser/cli/test_intake_from_nothing.py",
    "tests/test_docs.py",
    "tests/damping_model/damper/test_circuit.py",
    "tests/optimiser/cli/test_plan_after_build.py",
    "tests/optimiser/jobs/test_confidence.py",
    "tests/optimiser/jobs/test_before_after.py",
    "tests/optimiser/cli/test_interruption.py",
    "tests/optimiser/ledger/test_two_benches.py",
    "tests/optimiser/ledger/test_kills.py",
    "tests/inventory_demo/test_demo_shop.py",
    "tests/optimiser/studies/test_from_scratch.py",
    "tests/optimiser/fit/test_from_recordings.py",
    "tests/optimiser/fit/test_next_run.py",
    "tests/optimiser/jobs/test_demo_stories.py",
    "tests/optimiser/jobs/test_part_search.py",
    "tests/optimiser/cli/test_plan_every_stack.py",
    "tests/optimiser/cli/test_parts_built.py",
    "tests/optimiser/cli/test_fit_command.py",
    "tests/optimiser/bench/test_wheel.py",
    "tests/optimiser/bench/test_fit_page.py",
    "tests/benchmarks/test_ride_rows.py",
    "tests/damping_model/plates/test_code_cache.py",
    "tests/optimiser/bench/test_share_out.py",
    "tests/optimiser/cli/test_intake_command.py",
    "tests/optimiser/cli/test_lost_answer.py",
    "tests/optimiser/cli/test_measured_shims.py",
    "tests/optimiser/cli/test_share_out_command.py",
    "tests/optimiser/search/test_spot_check.py",
    "tests/optimiser/files/test_fitted_damper.py",
    "tests/optimiser/allocation/test_real_shims.py",
    "tests/damping_model/stack/test_lever.py",
    "tests/test_layers.py",
    "tests/damping_model/stack/test_lift.py",
    "tests/damping_model/stack/test_lift_and_pressure.py",
    "tests/optimiser/bench/test_hostile_requests.py",
    "tests/optimiser/bench/test_dyno_page.py",
    "tests/optimiser/bench/test_pages.py",
    "tests/optimiser/ledger/test_any_sequence.py",
    "tests/optimiser/ledger/test_damages.py",
    "tests/optimiser/allocation/test_day_choice.py",
    "tests/optimiser/allocation/test_purchase.py",
    "tests/optimiser/cli/test_reach_command.py",
    "tests/optimiser/cli/test_one_force_before.py",
    "tests/optimiser/cli/test_suits_command.py",
    "tests/optimiser/jobs/test_stress_in_jobs.py",
    "tests/benchmarks/test_search_benchmark.py",
)
"""Files that take longest in a quick run or a thorough one, roughly in that order; the others follow by their tests,
so that one of few tests that take long stands here or is begun last, with nothing left for the other workers."""

APART: Final = frozenset(
    {
        "tests/optimiser/cli/test_mutations.py",
        "tests/optimiser/search/test_against_brute_force.py",
        "tests/optimiser/search/test_solve.py",
        "tests/optimiser/several/test_against_brute_force.py",
        "tests/optimiser/jobs/test_symptom_plans.py",
        "tests/optimiser/jobs/test_what_if.py",
        "tests/optimiser/spread/test_drawn_forces.py",
        "tests/optimiser/search/test_nothing_boils.py",
        "tests/optimiser/spread/test_confident.py",
    }
)
"""Of those, the ones whose tests share nothing: each test may go to another worker."""


def file_of(node: str) -> str:
    """The file of a test, by the test's name."""
    return node.partition("::")[0]


def unit_of(node: str) -> str:
    """What is handed to a worker at once: the file of a test, or the test alone."""
    return node if file_of(node) in APART else file_of(node)


def sort_longest_first(items: list[pytest.Item]) -> None:
    """Put the tests in the order in which workers get them; those of one file stay as they are."""
    rank = {file: place for place, file in enumerate(LONGEST)}
    tests = Counter(file_of(item.nodeid) for item in items)
    items.sort(key=lambda item: _place(file_of(item.nodeid), rank, tests))


def _place(file: str, rank: dict[str, int], tests: Counter[str]) -> tuple[int, int, str]:
    return rank.get(file, len(rank)), -tests[file], file


class LongestFirst(LoadFileScheduling):  # type: ignore[misc]  # its base is typed as Any
    """A file to each worker, in the order of the tests; a test alone where they share nothing."""

    def _split_scope(self, nodeid: str) -> str:
        return unit_of(nodeid)
