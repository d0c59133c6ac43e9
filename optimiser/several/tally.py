"""What a search over several stacks has come to, and the answer that it makes."""

from __future__ import annotations

import numpy as np

from optimiser.model.answer import NO_EFFORT, Answer, Candidate, Status
from optimiser.model.checked import NOTHING_CHECKED
from optimiser.model.damper_answer import DamperAnswer, DamperCandidate, closeness, order
from optimiser.model.objection import NONE_LEFT_OUT, LeftOut
from optimiser.model.open_stacks import DamperProblem
from optimiser.several.found import Found


class Tally:
    """What was found, what was ruled out, and what it cost.

    Parameters
    ----------
    problem : what was asked.
    most_changes : that were allowed.
    wanted : how many candidates are listed.

    Attributes
    ----------
    kept : stacks that meet the goal together.
    too_few : proven that no stacks with at most so many changes do; -1 when nothing is.
    closest_proven : whether nothing with as few changes and assemblies comes closer.
    unanswered : how many stacks the model has no answer for.
    checked : stacks drawn from what was ruled out and judged by the whole model, and what is predicted.
    reason : why it ended early; None when it did not.
    """

    def __init__(self, problem: DamperProblem, *, most_changes: int, wanted: int) -> None:
        self.most_changes, self.wanted = most_changes, wanted
        self._problem = problem
        self.kept: list[DamperCandidate] = []
        self.too_few, self.closest_proven = -1, False
        self.effort, self.left_out = NO_EFFORT, NONE_LEFT_OUT
        self.unanswered, self.checked = 0, NOTHING_CHECKED
        self.reason: Status | None = None
        self._nearest_of: dict[int, DamperCandidate] = {}

    def begin_anew(self) -> None:
        """Forget what rests on margins that were too narrow; what clicks alone do stands."""
        self.kept, self.checked = [], NOTHING_CHECKED
        self.too_few, self.closest_proven = min(self.too_few, 0), False

    def take(self, place: int, one: Candidate) -> None:
        """A candidate of one stack alone, as one of the damper."""
        stacks = list(self._problem.present)
        stacks[place] = one.stack
        candidate = self._problem.candidate(stacks, setting=one.setting, forces=np.asarray(one.forces))
        if candidate.misfit == 0:
            self.kept.append(candidate)
        else:
            self._nearer(candidate)

    def collect(self, found: Found) -> None:
        """What was judged of one way to share changes out."""
        known = {one.stacks for one in self.kept}
        self.kept += [one for one in found.kept if one.stacks not in known]
        for one in found.nearest_of.values():
            self._nearer(one)
        self.left_out += LeftOut.of(found.refused.elements())
        found.refused.clear()

    @property
    def nearest_clicks(self) -> DamperCandidate | None:
        """The stacks as they are at the setting that comes nearest; None where nothing is known of it."""
        return self._nearest_of.get(0)

    def count(self, answer: Answer) -> None:
        """What a search of one stack cost, and what it left open."""
        self.effort += answer.effort
        self.left_out += answer.left_out
        self.unanswered += len(answer.unanswered.stacks) + len(answer.unanswered.settings)
        self.checked += answer.checked or NOTHING_CHECKED

    def answer(self) -> DamperAnswer:
        """What stands."""
        present = self._problem.setting
        closest = sorted(self.kept, key=closeness)
        # what opens fewer assemblies with more changes may be less work: the best of each kind is listed
        first = {(one.number_of_changes, one.assemblies): one for one in reversed(closest)}.values()
        closest = [one for k, one in enumerate(closest) if k < self.wanted or one in first]
        listed = tuple(sorted(closest, key=lambda one: order(one, present=present)))
        too_few = min(self.too_few, 0) if self.unanswered else self.too_few
        # with an adjuster turned besides fewer changes may do than are proven too few without
        too_few = min([too_few, *(one.number_of_changes - 1 for one in listed)])
        nearest = min(self._nearest_of.values(), key=lambda one: one.misfit, default=None)
        return DamperAnswer(
            status=self._status(listed, too_few),
            candidates=listed,
            proven_too_few=too_few,
            most_changes=self.most_changes,
            nearest=None if listed else nearest,
            closest_proven=self.closest_proven and bool(listed) and not self.unanswered,
            effort=self.effort,
            left_out=self.left_out,
            checked=self.checked if self.checked.drawn else None,
            nearest_of=tuple(self._nearest_of[number] for number in sorted(self._nearest_of)),
            unanswered=self.unanswered,
        )

    def _status(self, listed: tuple[DamperCandidate, ...], too_few: int) -> Status:
        through = self.reason or (Status.UNANSWERED if self.unanswered else Status.BEST_SO_FAR)
        if listed:
            least = listed[0].number_of_changes
            return Status.PROVEN_LEAST if too_few == least - 1 else through
        return Status.PROVEN_IMPOSSIBLE if too_few == self.most_changes else through

    def _nearer(self, one: DamperCandidate) -> None:
        known = self._nearest_of.get(one.number_of_changes)
        if known is None or one.misfit < known.misfit:
            self._nearest_of[one.number_of_changes] = one
