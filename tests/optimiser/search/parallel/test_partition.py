"""A large tree in parts: the same answer on any number of processes, and none is left behind."""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
import time
import traceback
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.errors import ShimwrightError
from optimiser.model import certificate as check
from optimiser.model import rank
from optimiser.model.answer import Answer, Status
from optimiser.model.goal import Goal
from optimiser.model.stock import Stock
from optimiser.search import Control, branch_and_bound, solve
from optimiser.search.bounds.node import SOFT, STIFF, Node
from optimiser.search.evaluator import Evaluator
from optimiser.search.parallel import partition
from optimiser.search.parallel.message import decode, encode
from optimiser.search.parallel.worker import WorkerTraceback
from optimiser.search.space.family import root_families
from optimiser.search.space.problem_data import problem_data
from optimiser.search.tree.roots import shapes
from tests.helpers import toy
from tests.helpers.counts import some_of, thorough_only
from tests.helpers.paths import ROOT

GOALS = {"within reach": 0.95, "just out of reach": 0.93, "out of reach": 0.4}
"""Share of the force before that the slow velocities are to come to."""

needs_fork = pytest.mark.skipif(sys.platform != "linux", reason="elsewhere all parts stay in one process")


def job(desired: float) -> tuple[toy.ToyPhysics, Stack, Stock, Goal]:
    rng = np.random.default_rng(5)
    physics, start = toy.ToyPhysics(), toy.random_stack(rng, 9)
    before = physics.forces(physics.packed(start), 0)
    goal = toy.goal(physics, start, desired=before * desired, tolerance=np.full(before.size, 0.03))
    return physics, start, toy.random_stock(rng, 3), goal


def solved(desired: float, cores: int) -> Answer:
    physics, start, stock, goal = job(desired)
    answer = solve(toy.problem(physics, start, stock, goal), most_changes=2, control=Control(cores=cores))
    assert check.faults(answer, toy.problem(physics, start, stock, goal)) == ()
    return answer


def repr_of_solved(desired: float, cores: int) -> str:
    return repr(solved(desired, cores))


@pytest.fixture
def soon(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every tree is partitioned almost at once, and its parts share nodes early."""
    monkeypatch.setattr(branch_and_bound, "PARTITION_AFTER", 5)
    monkeypatch.setattr(partition, "WORTH_SHARING", 2)


@pytest.mark.usefixtures("soon")
@pytest.mark.parametrize("goal", some_of(list(GOALS), every=2))
def test_any_number_of_processes_gives_the_same_answer_to_the_last_figure(goal: str) -> None:
    desired = GOALS[goal]
    assert repr(solved(desired, 1)) == repr(solved(desired, 2)) == repr(solved(desired, 3))


@pytest.mark.parametrize("goal", some_of(list(GOALS), every=2))
def test_parts_prove_what_one_tree_proves(goal: str, monkeypatch: pytest.MonkeyPatch) -> None:
    desired = GOALS[goal]
    alone = solved(desired, 1)
    monkeypatch.setattr(branch_and_bound, "PARTITION_AFTER", 5)
    in_parts = solved(desired, 2)
    assert (in_parts.status, in_parts.proven_too_few) == (alone.status, alone.proven_too_few)
    assert in_parts.effort.stacks == alone.effort.stacks
    if alone.closest_proven and in_parts.closest_proven:
        closest = (min(one.candidates, key=rank.closeness) for one in (alone, in_parts))
        assert len({one.target_error for one in closest}) == 1
    if alone.nearest is not None and in_parts.nearest is not None:
        assert in_parts.nearest_proven
        assert in_parts.nearest.misfit == alone.nearest.misfit


@pytest.mark.usefixtures("soon")
def test_no_process_is_left_when_a_search_has_ended() -> None:
    before = multiprocessing.active_children()
    solved(GOALS["out of reach"], 2)
    assert multiprocessing.active_children() == before


@needs_fork
@pytest.mark.usefixtures("soon")
def test_a_pool_of_processes_that_may_have_no_children_gives_the_same_answer() -> None:
    desired = GOALS["within reach"]
    with multiprocessing.get_context("fork").Pool(1) as pool:
        assert pool.apply(repr_of_solved, (desired, 2)) == repr(solved(desired, 2))


@needs_fork
@pytest.mark.usefixtures("soon")
def test_no_process_is_left_when_a_search_is_stopped_and_what_stands_is_given() -> None:
    before = multiprocessing.active_children()
    physics, start, stock, goal = job(GOALS["out of reach"])
    answer = solve(
        toy.problem(physics, start, stock, goal),
        most_changes=2,
        control=Control(cores=2, should_stop=lambda: multiprocessing.active_children() != before),
    )
    assert answer.status is Status.INTERRUPTED
    assert check.faults(answer, toy.problem(physics, start, stock, goal)) == ()
    assert multiprocessing.active_children() == before


@needs_fork
@pytest.mark.usefixtures("soon")
def test_a_process_that_is_killed_ends_the_search_in_words() -> None:
    before = multiprocessing.active_children()
    physics, start, stock, goal = job(GOALS["out of reach"])

    def kill_one() -> bool:
        for process in set(multiprocessing.active_children()) - set(before):
            process.kill()
            process.join()
        return False

    with pytest.raises(ShimwrightError, match="a process that took part in the search has ended"):
        solve(
            toy.problem(physics, start, stock, goal),
            most_changes=2,
            control=Control(cores=2, should_stop=kill_one),
        )
    assert multiprocessing.active_children() == before


class Broken(toy.ToyPhysics):
    """Raises an error of its own in any process but the one that made it."""

    def __init__(self) -> None:
        super().__init__()
        self.at_home = os.getpid()

    def excesses(
        self,
        plates: PackedStack,
        setting: int,
        *,
        places: Sequence[int],
        forces: Sequence[float],
        exactly: bool,
    ) -> toy.Floats:
        if os.getpid() != self.at_home:
            self.fall_over()
        return super().excesses(plates, setting, places=places, forces=forces, exactly=exactly)

    def fall_over(self) -> None:
        raise ArithmeticError("a plate has come to nothing")


@needs_fork
@pytest.mark.usefixtures("soon")
def test_an_error_in_a_worker_is_raised_here_with_the_traceback_that_it_had_there() -> None:
    before = multiprocessing.active_children()
    _, start, stock, goal = job(GOALS["out of reach"])
    with pytest.raises(ArithmeticError, match="a plate has come to nothing") as caught:
        solve(toy.problem(Broken(), start, stock, goal), most_changes=2, control=Control(cores=2))
    told = "".join(traceback.format_exception(caught.value))
    assert "in fall_over" in told
    assert 'raise ArithmeticError("a plate has come to nothing")' in told
    assert isinstance(caught.value.__cause__, WorkerTraceback)
    assert "in fall_over" in str(caught.value.__cause__)
    assert multiprocessing.active_children() == before


SLOW = """
import multiprocessing, sys, time
from tests.helpers import toy
from tests.optimiser.search.parallel import test_partition
from optimiser.search import Control, branch_and_bound, solve
branch_and_bound.PARTITION_AFTER = 5

class Slow(toy.ToyPhysics):
    def excesses(self, plates, setting, **asked):
        time.sleep(0.02)
        return super().excesses(plates, setting, **asked)

physics, start, stock, goal = test_partition.job(0.4)

def told(_):
    children = [str(one.pid) for one in multiprocessing.active_children()]
    if children:
        print(*children, flush=True)

solve(toy.problem(Slow(), start, stock, goal), most_changes=2, control=Control(cores=2, progress=told))
"""


@thorough_only("the command that is killed is tried in a quick run")
@needs_fork
def test_processes_end_with_the_one_that_began_them_even_if_that_is_killed() -> None:
    script = SLOW
    with subprocess.Popen(
        [sys.executable, "-c", script], cwd=ROOT, stdout=subprocess.PIPE, encoding="utf-8"
    ) as process:
        assert process.stdout is not None
        children = [int(one) for one in process.stdout.readline().split()]
        assert len(children) == 2
        process.send_signal(signal.SIGKILL)
    deadline = time.monotonic() + 30
    while any(_lives(one) for one in children):
        assert time.monotonic() < deadline
        time.sleep(0.05)


def _lives(process: int) -> bool:
    try:
        os.kill(process, 0)
        return "\nState:\tZ" not in Path(f"/proc/{process}/status").read_text(encoding="utf-8")
    except (ProcessLookupError, FileNotFoundError):
        return False


def test_a_node_that_is_sent_is_the_same_family_and_knows_the_same() -> None:
    physics, start, stock, goal = job(GOALS["within reach"])
    evaluator = Evaluator(physics, cores=1)
    data = problem_data(toy.problem(physics, start, stock, goal), evaluator)
    known = shapes(data, evaluator, 2, relative_half_width=np.full(goal.lower.size, 0.02), setting=0)
    for shape in known:
        whole = [one for one in root_families(shape, 2) if one.most_members > 1]
        halves = [part for one in whole for part in one.split() if part.most_members > 1]
        for family in [part for one in halves for part in one.split()]:
            node = Node.unknown(family, goal.lower.size)
            node.estimate = np.random.default_rng(1).normal(size=node.estimate.shape)
            again = decode(encode(node, known), known)
            assert again.family.shape is shape
            assert [p for p, _ in again.family.outs] == [p for p, _ in family.outs]
            assert all(a is b for (a, _), (b, _) in zip(again.family.ins, family.ins, strict=True))
            assert again.family == family
            for side in (SOFT, STIFF):
                assert again.bounding_stack(side, physics) == node.bounding_stack(side, physics)
            for name in ("bounds", "estimate", "uncertainty", "failed"):
                assert np.array_equal(getattr(again, name), getattr(node, name))
