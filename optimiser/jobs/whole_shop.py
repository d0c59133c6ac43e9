"""Which shim type to buy where a job leaves all stacks of its damper open."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from damping_model.stack.stack import Stack
from optimiser.errors import FaultError
from optimiser.jobs.setup import JobSetup
from optimiser.jobs.whole_answer import as_answer, as_candidate
from optimiser.jobs.whole_setup import whole_problem
from optimiser.model.answer import Status
from optimiser.model.damper_answer import DamperAnswer
from optimiser.model.edits import keys_of
from optimiser.model.open_stacks import DamperProblem
from optimiser.model.problem import Problem
from optimiser.model.stock import ShimKey, Stock
from optimiser.model.whole_certificate import whole_faults
from optimiser.search import Control, Progress
from optimiser.several import solve_whole
from optimiser.studies.purchases import AtMostNewTypes, Looked, Purchase, Shopping, Trust
from optimiser.studies.shopping import SHELF_SHARE

LISTED: Final = 60
"""Stacks that are asked for, so that several purchases are among them. [-]"""

SHOWN: Final = 10
"""Purchases that are listed for each number of types. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PurchaseProblem(DamperProblem):
    """Shelf and catalogue as one shelf, of which no more than so many types may have to be bought.

    Parameters
    ----------
    own : what lies on the shelf itself.
    most_types : that may have to be bought.
    """

    own: Stock
    most_types: int

    def alone(self, place: int, *, stock: Stock | None = None) -> Problem:
        """The problem of one stack, with the rule that it takes no more new types."""
        plain = DamperProblem.alone(self, place, stock=stock)
        at_hand = Counter(keys_of(plain.stack)) + Counter(self.own.counts)
        if stock is not None:
            # Shims that other stacks may give up do not have to be bought.
            at_hand = self._given(stock)
        return replace(plain, rules=(*plain.required_rules, AtMostNewTypes(at_hand, self.most_types)))

    def _given(self, stock: Stock) -> Counter[ShimKey]:
        """What a stack may take without a purchase, where others give up some."""
        beyond = Counter(stock.counts) - Counter(self.stock.counts)
        there = sum((Counter(keys_of(one)) for one in self.present), Counter(self.own.counts))
        return there + beyond

    def lacking(self, stacks: Sequence[Stack]) -> dict[ShimKey, int]:
        """What shelf and catalogue lack, or what would have to be bought beyond the types that may be."""
        bought = self.bought(stacks)
        missing = DamperProblem.lacking(self, stacks)
        return missing or (bought if len(bought) > self.most_types else {})

    def bought(self, stacks: Sequence[Stack]) -> dict[ShimKey, int]:
        """Pieces of each type that stacks take beyond what is at hand, in order of size."""
        there = sum((Counter(keys_of(one)) for one in self.present), Counter(self.own.counts))
        need = sum((Counter(keys_of(one)) for one in stacks), Counter[ShimKey]())
        return {key: need[key] - there[key] for key in sorted(need) if need[key] > there[key]}


def shop_for_all(
    setup: JobSetup, *, sold: Sequence[ShimKey], control: Control[Progress], most_types: int
) -> Shopping:
    """The purchases of the fewest types that make a goal reachable over all stacks, or save changes.

    Parameters
    ----------
    setup : of the job, for one of the stacks.
    sold : types that can be bought, of any hole, any number of each.
    control : of the time limit the shelf alone takes at most half.
    most_types : how many types may be bought together.

    Raises
    ------
    FaultError
        When what was found does not hold as it is judged again.
    """
    deadline, problem = control.deadline(), whole_problem(setup)
    most = setup.job.work.most_changes
    found = _searched(setup, problem, most, control.share(SHELF_SHARE), wanted=1)
    done = Shopping(as_answer(found, problem, setup), ())
    if not done.needed or found.status is Status.INTERRUPTED:
        return done
    pieces = {key: problem.stock.count(key) + most for key in sold}
    offered = replace(problem.stock, counts={**problem.stock.counts, **pieces})
    for types in range(1, most_types + 1):
        best = min((one.best.number_of_changes for one in done.purchases), default=None)
        if best is None:
            best = found.candidates[0].number_of_changes if found.candidates else most + 1
        posed = PurchaseProblem(
            open_stacks=problem.open_stacks,
            whole=problem.whole,
            stock=offered,
            goal=problem.goal,
            times=problem.times,
            coupled=problem.coupled,
            own=problem.stock,
            most_types=types,
        )
        answer = _searched(setup, posed, best - 1, control.left(deadline), wanted=LISTED)
        done = Shopping(done.shelf, (*done.looked, _looked(answer, posed, setup, best - 1)))
        if done.looked[-1].trust is not Trust.PROVEN:
            break
    return done


def _searched(
    setup: JobSetup, problem: DamperProblem, most_changes: int, control: Control[Progress], *, wanted: int
) -> DamperAnswer:
    found = solve_whole(
        problem,
        most_changes=most_changes,
        control=control,
        wanted=wanted,
        setting=setup.physics.middle if setup.job.work.clickers_to_middle else None,
    )
    wrong = whole_faults(found, problem)
    if wrong:
        raise FaultError(f"{setup.job.path}", wrong)
    return found


def _looked(answer: DamperAnswer, posed: PurchaseProblem, setup: JobSetup, most_changes: int) -> Looked:
    """The best stacks of each purchase with the fewest changes."""
    least = answer.candidates[0].number_of_changes if answer.candidates else 0
    purchases: dict[tuple[tuple[ShimKey, int], ...], Purchase] = {}
    for one in answer.candidates:
        pieces = tuple(posed.bought(one.stacks).items())
        types = {tuple(key for key, _ in known) for known in purchases}
        if one.number_of_changes == least and tuple(key for key, _ in pieces) not in types:
            purchases[pieces] = Purchase(pieces, as_candidate(one, posed, setup))
    trust = {
        Status.PROVEN_LEAST: Trust.PROVEN,
        Status.PROVEN_IMPOSSIBLE: Trust.PROVEN,
        Status.INTERRUPTED: Trust.INTERRUPTED,
        Status.UNANSWERED: Trust.UNANSWERED,
    }.get(answer.status, Trust.BEST_SO_FAR)
    return Looked(
        posed.most_types,
        most_changes,
        max(answer.proven_too_few, 0),
        tuple(one for one in purchases.values() if one.pieces)[:SHOWN],
        trust,
        answer.effort,
        answer.left_out,
    )
