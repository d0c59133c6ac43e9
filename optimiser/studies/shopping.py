"""Which shim type to buy: one search over shelf and catalogue together answers for every purchase at once."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from optimiser.errors import FaultError
from optimiser.model import rank
from optimiser.model.answer import NO_EFFORT, Candidate, Effort, Status
from optimiser.model.certificate import candidate_faults, faults
from optimiser.model.edits import keys_of
from optimiser.model.objection import NONE_LEFT_OUT, LeftOut
from optimiser.model.stock import ShimKey, Stock
from optimiser.model.unanswered import ALL_ANSWERED, Unanswered
from optimiser.search import Control, Problem, Progress, TreeProgress, explore, solve
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.objective import FeasibleObjective
from optimiser.studies.purchases import AtMostNewTypes, Looked, Purchase, Shopping, Trust, to_buy

SHELF_SHARE: Final = 0.5
"""Share of a time limit that the shelf alone may take, so that time is left for purchases. [-]"""


def shop(
    problem: Problem,
    *,
    sold: Sequence[ShimKey],
    most_changes: int,
    control: Control[Progress] | None = None,
    most_types: int = 1,
    wanted: int = 10,
) -> Shopping:
    """The purchases of the fewest types that make a goal reachable, or save changes against the shelf alone.

    Parameters
    ----------
    problem, most_changes : the question, as :func:`optimiser.search.solve` takes it.
    sold : types that can be bought, any number of each; more of a type on the shelf is a purchase too.
    control : likewise; of the time limit the shelf alone takes at most half.
    most_types : how many types may be bought together.
    wanted : purchases to list for each number of types.

    Notes
    -----
    One change more at a time: shelf and catalogue are searched as one shelf, with the rule that no stack uses
    more than so many types beyond what is at hand. When that search is through, so is every purchase, and
    an empty list is a proof that none helps.

    Raises
    ------
    InputError
        When the stack in the damper breaks a rule itself.
    FaultError
        When what was found does not hold as it is judged again.
    """
    pieces = {key: problem.stock.count(key) + most_changes for key in sold}
    offered = replace(problem, stock=Stock({**problem.stock.counts, **pieces}))
    at_hand = Counter(keys_of(problem.stack)) + Counter(problem.stock.counts)
    found = _searched(
        problem,
        offered,
        at_hand,
        most_changes=most_changes,
        control=control or Control(),
        most_types=most_types,
        wanted=wanted,
    )
    wrong = list(faults(found.shelf, problem))
    for looked in found.looked:
        for one in looked.purchases:
            about = ", ".join(f"{count} of {key}" for key, count in one.pieces)
            wrong += [f"bought {about}: {words}" for words in candidate_faults(one.best, offered)]
            if one.best.misfit > 0:
                wrong.append(f"bought {about}: its forces leave the windows")
            if tuple(to_buy(one.best.stack, at_hand).items()) != one.pieces or len(one.pieces) > looked.types:
                wrong.append(f"bought {about}: its stack takes other shims")
    if wrong:
        raise FaultError("shop", wrong)
    return found


def _searched(
    problem: Problem,
    offered: Problem,
    at_hand: Mapping[ShimKey, int],
    *,
    most_changes: int,
    control: Control[Progress],
    most_types: int,
    wanted: int,
) -> Shopping:
    """The purchases, not judged yet: ``offered`` is what lies on the shelf and in the catalogue together."""
    deadline, limit = control.deadline(), control.time_limit
    shelf = solve(
        problem,
        most_changes=most_changes,
        control=replace(control, time_limit=None if limit is None else SHELF_SHARE * limit),
        wanted=1,
        find_nearest=False,
    )
    done = Shopping(shelf, ())
    if not done.needed or shelf.status is Status.INTERRUPTED:
        return done
    for types in range(1, most_types + 1):
        best = min((len(one.best.changes) for one in done.purchases), default=None)
        if best is None:
            best = len(shelf.candidates[0].changes) if shelf.candidates else most_changes + 1
        limited = replace(offered, rules=(*problem.required_rules, AtMostNewTypes(at_hand, types)))
        search = _PurchaseSearch(limited, at_hand, types, wanted, control, deadline)
        looked, bare = search.up_to(best - 1)
        if bare is not None:
            # The shelf alone does as well, which its own search had no time to find.
            shelf = replace(shelf, candidates=(bare,), nearest=None)
        done = Shopping(shelf, (*done.looked, looked))
        if looked.trust is not Trust.PROVEN:
            break
    return done


@dataclass(slots=True)
class _PurchaseSearch:
    """One number of types, one number of changes after the other."""

    problem: Problem
    at_hand: Mapping[ShimKey, int]
    types: int
    wanted: int
    control: Control[Progress]
    deadline: float | None
    effort: Effort = NO_EFFORT
    left_out: LeftOut = NONE_LEFT_OUT
    unanswered: Unanswered = ALL_ANSWERED

    def up_to(self, most_changes: int) -> tuple[Looked, Candidate | None]:
        """The purchases with the fewest changes, and a stack without any, should one turn up.

        Two types together take two shims in, so fewer changes than types are left to fewer types.
        """
        too_few = self.types - 1
        for changes in range(self.types, most_changes + 1):
            objective = BestPurchases(GoalMetrics(self.problem.goal), self.at_hand, self.wanted)
            trust = self._explore(objective, changes)
            if objective.bare is not None:
                return self._looked(most_changes, too_few, (), trust), objective.bare
            if objective.found or trust is not Trust.PROVEN:
                return self._looked(most_changes, too_few, objective.purchases, trust), None
            too_few = changes
        return self._looked(most_changes, too_few, (), Trust.PROVEN), None

    def _explore(self, objective: BestPurchases, changes: int) -> Trust:
        def report(tree: TreeProgress) -> None:
            self.control.report(
                Progress(
                    changes=changes,
                    families_open=tree.families_open,
                    families_closed=tree.families_closed,
                    evaluations=tree.evaluations,
                    found=len(objective.found),
                    proven_too_few=changes - 1,
                )
            )

        left = None if self.deadline is None else max(self.deadline - time.monotonic(), 0.0)
        control = replace(self.control, time_limit=left).reporting(report)
        explored = explore(self.problem, objective, most_changes=changes, control=control)
        self.effort += explored.effort
        self.left_out += explored.left_out
        self.unanswered += explored.unanswered
        if explored.proven:
            return Trust.PROVEN
        if explored.stopped is None:
            return Trust.UNANSWERED
        return Trust.INTERRUPTED if explored.stopped is Status.INTERRUPTED else Trust.BEST_SO_FAR

    def _looked(
        self, most_changes: int, too_few: int, purchases: tuple[Purchase, ...], trust: Trust
    ) -> Looked:
        return Looked(
            self.types, most_changes, too_few, purchases, trust, self.effort, self.left_out, self.unanswered
        )


class BestPurchases(FeasibleObjective):
    """The stacks that meet the goal: of every purchase the best, and the ``wanted`` best purchases."""

    def __init__(self, metrics: GoalMetrics, at_hand: Mapping[ShimKey, int], wanted: int) -> None:
        super().__init__(metrics)
        self.at_hand, self.wanted = at_hand, wanted
        self.found: dict[tuple[ShimKey, ...], Candidate] = {}
        self.bare: Candidate | None = None

    @property
    def error_to_beat(self) -> float:
        """Distance from the target that a stack has to better, or to equal. [-]"""
        if len(self.found) < self.wanted:
            return float("inf")
        errors = sorted(one.target_error for one in self.found.values())
        return errors[self.wanted - 1] + 10.0**-rank.TIES

    @property
    def purchases(self) -> tuple[Purchase, ...]:
        """The best ones in order."""
        listed = sorted(self.found.values(), key=_order)[: self.wanted]
        return tuple(Purchase(tuple(to_buy(one.stack, self.at_hand).items()), one) for one in listed)

    def record(self, one: Candidate) -> None:
        """Keep it when it is the best of its purchase."""
        types = tuple(to_buy(one.stack, self.at_hand))
        if not types:
            self.bare = one if self.bare is None else min(self.bare, one, key=_order)
        elif types not in self.found or _order(one) < _order(self.found[types]):
            self.found[types] = one


def _order(one: Candidate) -> tuple[int, float, float, tuple[ShimKey, ...], int]:
    """Fewest changes, miss, change elsewhere; how scarce a type is means nothing where it is bought."""
    return (
        len(one.changes),
        round(one.target_error, rank.TIES),
        round(one.change_elsewhere, rank.TIES),
        keys_of(one.stack),
        one.setting,
    )
