"""What every rival does alike: name a stack, hold it against rules and shelf, evaluate it once, keep the best."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.answer import Candidate
from optimiser.model.edits import keys_of
from optimiser.model.rules import violations
from tests.benchmarks.rivals.question import Key, Question, key_of
from tests.benchmarks.rivals.recorder import Budget, End, Found, Mark, Reached, Record, Spent, fresh
from tests.helpers.brute_force import Name

HEIGHT_ROUNDING = 5e-7
"""Heights are whole micrometres. [m]"""


@dataclass(frozen=True, slots=True)
class Seen:
    """A stack that was evaluated.

    Parameters
    ----------
    forces : at the goal's velocities. [N]
    misfit : distance from the windows, in half-widths; 0 when all are met. [-]
    met : all figures of a stack that meets the goal; those of others would take longer than the physics does.
    """

    forces: NDArray[np.float64]
    misfit: float
    met: Candidate | None


class RivalEvaluator:
    """What one rival evaluates stacks with.

    Parameters
    ----------
    question : the job.
    budget : what may be used.
    target : ends the method once it has an answer as good; for methods that cannot prove anything.
    """

    def __init__(self, question: Question, budget: Budget, target: Key | None = None) -> None:
        self.question = question
        self.physics = fresh(question, budget)
        self.found: list[Found] = []
        self.old: Name = keys_of(question.stack)
        self._target = target
        self._known: dict[tuple[Name, int], Seen | None] = {}

    def check_budget(self) -> None:
        """End the method when nothing is left; called also where no physics is."""
        if self.physics.spent:
            raise Spent

    def offences(self, name: Name) -> int:
        """How many things keep a stack from being built: shims that are not there, heights, rules."""
        have = Counter(self.old)
        short = sum(
            max(0, count - have[key] - self.question.stock.count(key)) for key, count in Counter(name).items()
        )
        made = Stack(tuple(key.shim for key in name))
        return (
            short
            + (not self._fits(made))
            + len(violations(self.question.rules, made, self.question.mounting))
        )

    def may_be_built(self, name: Name) -> bool:
        """Whether there are no offences; sooner known than their number."""
        have = Counter(self.old)
        if any(count > have[key] + self.question.stock.count(key) for key, count in Counter(name).items()):
            return False
        made = Stack(tuple(key.shim for key in name))
        # the last rules are those that most stacks break
        return self._fits(made) and not any(
            rule.violations(made, self.question.mounting) for rule in reversed(self.question.rules)
        )

    def _fits(self, made: Stack) -> bool:
        goal = self.question.goal
        return goal.least_height - HEIGHT_ROUNDING <= made.height <= goal.most_height + HEIGHT_ROUNDING

    def probe(self, name: Name, setting: int | None = None) -> Seen | None:
        """Any stack, whether it may be built or not; None when the physics has no answer.

        The same stack costs one run, however often it is asked for.
        """
        self.check_budget()
        setting = self.physics.setting if setting is None else setting
        if (name, setting) not in self._known:
            self._known[name, setting] = self._run(name, setting)
        return self._known[name, setting]

    def evaluate(self, name: Name, setting: int | None = None) -> Seen | None:
        """A stack that may be built: kept when it meets the goal and betters the others."""
        seen = self.probe(name, setting)
        if seen is None or seen.met is None or len(seen.met.changes) > self.question.most_changes:
            return seen
        if not self.found or key_of(seen.met) < key_of(self.found[-1].candidate):
            self.found.append(Found(Mark(len(self.physics.times), self.physics.times[-1]), seen.met))
            if self._target is not None and key_of(seen.met) <= self._target:
                raise Reached
        return seen

    def as_it_is(self) -> bool:
        """Evaluate the old stack at every setting, as each method does first; whether one meets the goal."""
        for setting in range(len(self.physics.settings)):
            self.evaluate(self.old, setting)
        return bool(self.found)

    def record(self, method: str, work: Callable[[], End], *, proves: bool) -> Record:
        """Let a method work until it has a proof, its target, nothing more to try, or nothing left."""
        try:
            ended: End = "proof" if self.as_it_is() else work()
        except Spent:
            ended = "budget"
        except Reached:
            ended = "target"
        end = self.physics.now
        proof: Mark | None = end if ended == "proof" else None
        first = self.found[0].at if self.found else None
        return Record(method, first, tuple(self.found), proof, end, ended, proves, tuple(self.physics.times))

    def _run(self, name: Name, setting: int) -> Seen | None:
        made = Stack(tuple(key.shim for key in name))
        try:
            forces = self.physics.forces(self.physics.packed(made), setting)
        except ModelError:
            return None
        misfit = rank.misfit(self.question.goal, forces)
        if misfit > 0:
            return Seen(forces, misfit, None)
        return Seen(forces, misfit, rank.candidate(
            old=self.question.stack, new=made, setting=setting, forces=forces, goal=self.question.goal,
            stock=self.question.stock,
        ))  # fmt: skip
