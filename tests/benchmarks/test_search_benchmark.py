"""The benchmark's methods on one toy job: counters, validity and 'never' are what the tables say they are."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest

pytest.importorskip("pymoo", reason="a rival's library; pip install 'shimwright[benchmarks]' brings it")
pytest.importorskip("ortools", reason="a rival's library; pip install 'shimwright[benchmarks]' brings it")


from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.edits import difference
from optimiser.model.rules import violations
from optimiser.model.stock import Stock
from tests.benchmarks.rivals import contest as contests
from tests.benchmarks.rivals import evolution, exhaustive, growth, linear, ours, table
from tests.benchmarks.rivals.encoding import UNBUILDABLE, Encoding
from tests.benchmarks.rivals.question import Question, key_of
from tests.benchmarks.rivals.recorder import Budget, Mark, Record
from tests.benchmarks.rivals.rival_evaluator import RivalEvaluator
from tests.helpers import toy
from tests.helpers.counts import thorough_only

START = toy.stack((20, 0.15), (20, 0.15), (18, 0.10), (15, 0.10), (9, 0.30))
SHELF = Stock({toy.key(20, 0.10): 2, toy.key(18, 0.20): 1, toy.key(17, 0.15): 2, toy.key(14, 0.20): 1})
BUDGET = Budget(runs=400, seconds=1.5)


def question(made: Stack | None, *, changes: int = 1, shift: float = 1.0) -> Question:
    """A goal around the forces of one stack, so that it is known to be within reach; or far from all."""
    physics = toy.ToyPhysics()
    desired = shift * physics.forces(physics.packed(made or START), 0)
    goal = toy.goal(
        physics, START, desired=desired, tolerance=np.full(desired.size, 0.02), targets=desired.size
    )
    return Question("toy", toy.ToyPhysics, START, toy.MOUNTING, SHELF, goal, changes)


SWAPPED = toy.stack((20, 0.15), (20, 0.15), (18, 0.20), (15, 0.10), (9, 0.30))
WITHIN = question(SWAPPED)
OUT_OF_REACH = question(None, shift=3.0)
BEST = (1, 0.0)

Method = Callable[..., Record]
RIVALS: dict[str, Method] = {
    "brute force": lambda job, budget=BUDGET: exhaustive.run(job, budget),
    "CP-SAT": lambda job, budget=BUDGET: linear.run(job, budget, target=BEST),
    "differential evolution": lambda job, budget=BUDGET: evolution.run_differential(
        job, budget, seed=1, target=BEST
    ),
    "genetic algorithm": lambda job, budget=BUDGET: evolution.run_genetic(job, budget, seed=1, target=BEST),
}
ALL: dict[str, Method] = {"ours": lambda job, budget=BUDGET: ours.run(job, budget)[0], **RIVALS}
PROVING = ("ours", "brute force")


def runs_at(mark: Mark | None) -> int:
    assert mark is not None
    return mark.runs


@pytest.mark.parametrize("method", ALL)
def test_every_method_finds_the_one_shim_that_was_swapped(method: str) -> None:
    record = ALL[method](WITHIN)
    assert record.best == BEST
    found = record.found[-1]
    assert found.candidate.stack == SWAPPED
    assert WITHIN.faults_of(found.candidate) == ()
    assert runs_at(record.first) <= found.at.runs <= record.end.runs == len(record.calls)


@pytest.mark.parametrize("method", ALL)
def test_only_a_method_that_can_prove_says_that_there_is_no_answer(method: str) -> None:
    record = ALL[method](OUT_OF_REACH)
    assert record.first is None
    assert record.found == ()
    assert (record.proof is not None) == (method in PROVING) == record.proves
    assert record.ended == ("proof" if method in PROVING else "gave up" if method == "CP-SAT" else "budget")


@pytest.mark.parametrize("method", ALL)
def test_a_budget_of_a_few_runs_ends_a_method_without_a_proof(method: str) -> None:
    record = ALL[method](OUT_OF_REACH, Budget(runs=5, seconds=60.0))
    assert record.proof is None
    assert record.ended == "budget"
    # ours looks up between one batch of families and the next
    assert record.end.runs == 5 or (method == "ours" and record.end.runs < 60)


@pytest.mark.parametrize("method", ALL)
def test_runs_are_counted_once_each_in_order_of_time(method: str) -> None:
    asked = []

    class Watched(toy.ToyPhysics):
        def forces(self, plates: PackedStack, setting: int) -> toy.Floats:
            asked.append(plates)
            return toy.ToyPhysics.forces(self, plates, setting)

    job = Question("toy", Watched, START, toy.MOUNTING, SHELF, WITHIN.goal, 1)
    record = ALL[method](job)
    warm_up = 1
    assert len(asked) == record.end.runs + warm_up
    assert list(record.calls) == sorted(record.calls)


def test_brute_force_sees_every_stack_one_change_away_that_can_be_built() -> None:
    job = question(None, changes=1, shift=3.0)
    evaluator, seen = RivalEvaluator(job, Budget(10**6, 60.0)), set()
    record = exhaustive.run(job, Budget(10**6, 60.0))
    encoding = Encoding(evaluator)
    for numbers in itertools.product(*(range(most + 1) for most in encoding.most)):
        name = encoding.name(numbers)
        if evaluator.may_be_built(name):
            seen.add(name)
    assert len(seen | {evaluator.old}) == record.end.runs
    assert all(difference(START, Stack(tuple(key.shim for key in name))).changes <= 1 for name in seen)


def test_the_cost_puts_an_answer_before_a_miss_and_a_miss_before_what_cannot_be_built() -> None:
    evaluator = RivalEvaluator(WITHIN, BUDGET)
    encoding = Encoding(evaluator)
    types = sorted({*evaluator.old, *SHELF.fitting(inner=8000)})
    answer = encoding.cost((3, types.index(toy.key(18, 0.20)) + 1, 3))
    miss = encoding.cost((0, 0, 0))
    faceless = encoding.cost((0, types.index(toy.key(14, 0.20)) + 1, 0))
    assert answer == pytest.approx(1.0)
    assert miss == pytest.approx(2.0 + rank.misfit(WITHIN.goal, WITHIN.goal.before))
    assert faceless > UNBUILDABLE > miss
    assert evaluator.physics.now.runs == 2


def test_a_false_proof_and_a_false_answer_are_called_faults() -> None:
    record, _ = ours.run(WITHIN, BUDGET)
    lied = rank.candidate(
        old=START, new=toy.stack((14, 0.2), (9, 0.3)), setting=0, forces=WITHIN.goal.desired, goal=WITHIN.goal, stock=SHELF
    )  # fmt: skip
    assert any("leaves the ports open" in words for words in WITHIN.faults_of(lied))
    assert any("fresh run" in words for words in WITHIN.faults_of(lied))
    assert contests.broken_proofs([record], BEST) == []
    assert contests.broken_proofs([record], (0, 0.0)) == ["ours: proved (1, 0.0), and there is (0, 0.0)"]


def test_the_table_shows_medians_never_and_what_was_spent() -> None:
    held = contests.contest(WITHIN, BUDGET, seeds=(1, 2, 3))
    assert held.faults == ()
    assert held.best == BEST == key_of(held.entries[0][0].found[-1].candidate)
    rows = {row[0]: row for row in table.rows(held)}
    proofs = {name: row[5] for name, row in rows.items()}
    assert proofs.pop("ours") == f"{runs_at(held.entries[0][0].proof):,}"
    assert proofs.pop("brute force") == f"{runs_at(held.entries[1][0].proof):,}"
    assert set(proofs.values()) == {"never"}
    assert rows["genetic algorithm, median of 3 seeds"][7] == "the best with 3 of 3 seeds"
    middle = sorted(runs_at(one.first) for one in held.entries[-1])[1]
    assert rows["genetic algorithm, median of 3 seeds"][1] == f"{middle:,}"
    fewer = runs_at(held.entries[1][0].proof) < runs_at(held.entries[0][0].proof)
    assert fewer == any(words.startswith("To the proof, brute force") for words in table.sentences(held))


def test_a_nearest_stack_that_is_not_proven_to_be_the_nearest_is_no_proof() -> None:
    alone, _ = ours.run(OUT_OF_REACH, BUDGET)
    full, answer = ours.run(OUT_OF_REACH, BUDGET, find_nearest=True)
    assert answer.nearest_proven
    assert runs_at(full.proof) > runs_at(alone.proof)
    short, answer = ours.run(OUT_OF_REACH, Budget(alone.end.runs + 1, 60.0), find_nearest=True)
    assert not answer.nearest_proven
    assert (short.proof, short.ended) == (None, "budget")


@thorough_only("a table of a job that has answers is made in a quick run")
def test_the_table_of_an_impossible_job_has_no_answers() -> None:
    held = contests.contest(OUT_OF_REACH, BUDGET, seeds=(1,))
    assert held.faults == ()
    assert held.impossible
    rows = {row[0]: row for row in table.rows(held)}
    assert rows["ours"][1:5] == rows["ours, with the nearest stack"][1:5] == ["none"] * 4
    assert rows["differential evolution"][1].startswith("> ")
    assert rows["differential evolution"][7] == "budget spent"
    assert table.as_markdown(table.HEAD, table.rows(held)).count("\n") == len(rows) + 1


@pytest.mark.parametrize("shims", growth.SHIMS)
def test_the_stacks_of_the_growth_table_can_be_built_and_are_as_stiff_as_the_demos(shims: int) -> None:
    case = growth.question(growth.WITHIN, shims=shims, types=20, most_changes=1)
    assert len(case.stack.shims) == shims
    assert violations(case.rules, case.stack, case.mounting) == ()

    def stiffness(stack: Stack) -> float:
        return sum(shim.thickness**3 for shim in stack.shims)

    assert stiffness(case.stack) == pytest.approx(stiffness(growth.stack_of_size(24)), rel=0.15)


@pytest.mark.parametrize("types", growth.TYPES)
def test_the_shelves_of_the_growth_table_have_the_size_they_say(types: int) -> None:
    shelf = growth.shelf_of_size(types)
    assert len(shelf.fitting(inner=growth.HOLE)) == len(shelf.counts) == types
    assert math.prod(shelf.counts.values()) > 0
