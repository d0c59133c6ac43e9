"""What a sheet may claim: the sentence about proof, made from what was proven and from nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

from optimiser.model.answer import Answer, Candidate, Status
from optimiser.model.checked import Checked
from optimiser.model.objection import LeftOut
from optimiser.model.percent import share_text
from optimiser.report.left_out import SHORT, condition, left_out_words


class FindingKind(Enum):
    """What the sheet asks of the person at the bench."""

    SHIMS = "shims"
    """Shims change; the damper is opened."""

    CLICKS = "clicks"
    """Only adjusters move; the damper stays shut."""

    PARTS = "parts"
    """Oil, gas, a bleed or a ring becomes another one; the shims stay."""

    NEAR_ENOUGH = "near enough"
    """The goal is not reached, and missed by less than a rider feels."""

    NEAREST = "nearest"
    """The goal is not reached: what comes nearest, not to be built without the rider's word."""


_NOT_REACHED: Final = frozenset({FindingKind.NEAR_ENOUGH, FindingKind.NEAREST})


@dataclass(frozen=True, slots=True)
class PlanFinding:
    """How far the answer on the sheet may be trusted.

    Parameters
    ----------
    kind : what the sheet asks for.
    status : what the search returned.
    changes : changes that the stack on the sheet takes.
    proven_too_few : no stack with at most this many changes meets the goal; -1 when nothing is proven.
    most_changes : changes that the search was allowed.
    nearest_proven : whether no stack within those changes comes nearer.
    stacks : buildable stacks that the proof covers.
    condition : what the proof is limited to besides; empty when it is not.
    left_out : which stacks were left out, in sentences, and what speaks against the one shown.
    clicks_kept : whether changed stacks were tried with the clickers as they are, and these could be turned.
    unanswered : settings and stacks that the model has no answer for.
    checked : how what is proven was checked.
    parts : oil, gas, bleeds and rings that become others, in words; what is proven counts for those.
    turned : whether it takes several changes with clickers turned besides, where fewer might do at others.
    """

    kind: FindingKind
    status: Status
    changes: int
    proven_too_few: int
    most_changes: int
    nearest_proven: bool
    stacks: int
    condition: str = ""
    left_out: str = ""
    clicks_kept: bool = False
    unanswered: int = 0
    checked: Checked | None = None
    parts: str = ""
    turned: bool = False

    @classmethod
    def of(
        cls, answer: Answer, candidate: Candidate, *, near_enough: bool = False, parts: str = ""
    ) -> PlanFinding:
        """What an answer says about one of its candidates, or about its nearest.

        Parameters
        ----------
        answer, candidate : what was found, and the one that is meant.
        near_enough : whether it misses the goal by less than a rider feels.
        parts : those that become others besides, in words; empty for none.
        """
        # What is folded under a candidate is not listed, and meets the goal as well.
        folded = bool(answer.candidates) and candidate.misfit == 0 and candidate.objection is None
        if candidate not in answer.candidates and not folded:
            kind = FindingKind.NEAR_ENOUGH if near_enough else FindingKind.NEAREST
        elif candidate.number_of_changes:
            kind = FindingKind.SHIMS
        else:
            kind = FindingKind.PARTS if parts else FindingKind.CLICKS
        return cls(
            kind=kind,
            status=answer.status,
            changes=candidate.number_of_changes,
            proven_too_few=answer.proven_too_few,
            most_changes=answer.most_changes,
            nearest_proven=answer.nearest_proven,
            stacks=answer.effort.stacks,
            condition=condition(_that_counts(answer)),
            left_out=f"{_against(candidate)} {left_out_words(answer)}".strip(),
            clicks_kept=answer.clicks_kept,
            checked=answer.checked,
            parts=parts,
            unanswered=len(answer.unanswered.settings) + len(answer.unanswered.stacks),
            turned=answer.turned_from not in {None, candidate.setting} and candidate.number_of_changes > 1,
        )

    @property
    def proven(self) -> bool:
        """Whether the answer as a whole, not a part of it, is proven."""
        if self.kind in _NOT_REACHED:
            return self.status is Status.PROVEN_IMPOSSIBLE
        return self.status is Status.PROVEN_LEAST and self.proven_too_few >= 0

    @property
    def sentence(self) -> str:
        """What is said of it: starts with 'Proven' when it is, and at no other time."""
        return " ".join(filter(None, (self.verdict, *self.rests_on)))

    @property
    def rests_on(self) -> tuple[str, ...]:
        """What a proof leans on, and what was left out of it; a sheet says so among its footnotes."""
        return tuple(filter(None, (self._leaning if self.proven else "", self.left_out)))

    @property
    def verdict(self) -> str:
        """The same without what it rests on."""
        if self.kind is FindingKind.PARTS:
            return f"With {self.parts} the goal is reached; no shim has to change."
        if self.parts:
            return f"{self._verdict} All of it with {self.parts}."
        return self._verdict

    @property
    def _verdict(self) -> str:
        """The verdict on shims and adjusters."""
        if self.kind in _NOT_REACHED:
            return self._nearest_sentence()
        if self.kind is FindingKind.CLICKS:
            return "The adjusters alone reach the goal; no shim has to change."
        if self.proven:
            least = self.changes == self.proven_too_few + 1 and not self.turned
            besides = ", with the clickers turned besides" if self.turned else ""
            fewest = f" This one takes {_changes(self.changes)}{besides}" + (
                ": the fewest." if least else "."
            )
            covered = f" ({self.stacks:,} stacks checked)" if self.proven_too_few > 0 else ""
            return f"Proven: {self._too_few} meets the goal{self.condition}{covered}.{fewest}"
        taken = f"This one takes {_changes(self.changes)}."
        return f"Not proven: {self._why_unfinished()}. {self._bound()} {taken}"

    def _nearest_sentence(self) -> str:
        nearer = (
            "No other comes nearer than the one shown."
            if self.nearest_proven
            else "The one shown is the nearest found; a nearer one is not ruled out."
        )
        if self.kind is FindingKind.NEAR_ENOUGH:
            nearer = "The one shown is the least effort that misses it by less than a rider feels."
        if self.proven:
            return (
                f"Proven: {self._kept}within {_changes(self.most_changes)} no buildable stack from this "
                f"shelf meets the goal{self.condition} ({self.stacks:,} stacks checked). "
                f"{nearer}"
            )
        return (
            f"Not proven: {self._why_unfinished()}. {self._bound()} "
            f"Whether the goal can be reached is not known. {nearer}"
        )

    @property
    def _leaning(self) -> str:
        """What a proof about changed stacks rests on; one about clicks alone tries them all."""
        if self.proven_too_few < 1:
            return ""
        rests = "The proof rests on bounds widened by margins that were measured, not derived"
        if self.checked is None or self.checked.nearest is None:
            return f"{rests}."
        once = self.checked.reopened
        most = self.checked.margins
        margins = "" if most is None else f": {share_text(max(most), 1)} at most"
        again = f" They were doubled {once} time{'s' if once > 1 else ''}, since a stack broke them."
        return (
            f"{self.checked.drawn} of the stacks that were ruled out were built in the model: none fits, "
            f"and the nearest misses a limit by {share_text(self.checked.nearest, 2)}. {rests}"
            f"{margins}.{self._predicted}{again if once else ''}"
        )

    @property
    def _predicted(self) -> str:
        """What was ruled out without bounds."""
        if self.checked is None or not self.checked.predicted:
            return ""
        return (
            f" Up to {self.checked.predicted:,} sets of shims were ruled out by forces predicted from those "
            "of others, with twice the worst error seen there as a margin."
        )

    def _why_unfinished(self) -> str:
        some = f"{self.unanswered} setting{'s' if self.unanswered > 1 else ''} or stack"
        reasons = {
            Status.BEST_SO_FAR: "time ran out, and this is the best found by then",
            Status.BY_STEPS: "steps of a change or two led here, each the nearest there was",
            Status.UNANSWERED: f"the model has no answer for {some}{'s' if self.unanswered > 1 else ''}",
            Status.INTERRUPTED: "the search was stopped by hand, and this is the best found by then",
        }
        return reasons.get(self.status, "nothing shows that fewer changes cannot do")

    def _bound(self) -> str:
        if self.proven_too_few < 0:
            return "Fewer changes are not ruled out."
        return f"What stands: {self._too_few} meets the goal{self.condition}."

    @property
    def _too_few(self) -> str:
        if self.proven_too_few == 0:
            return "no setting with the stack as it is"
        return f"{self._kept}no stack with at most {_changes(self.proven_too_few)}"

    @property
    def _kept(self) -> str:
        """What a proof about changed stacks takes for granted."""
        return "with the clickers as they are, " if self.clicks_kept else ""


def _that_counts(answer: Answer) -> LeftOut:
    """What was left out of a proof; one about the stack as it is has nothing to do with stress."""
    if answer.proven_too_few >= 1:
        return answer.left_out
    return LeftOut(boiling=answer.left_out.boiling, unsure=answer.left_out.unsure)


def _against(candidate: Candidate) -> str:
    """What speaks against the stack that is shown; empty when nothing does."""
    if candidate.objection is None:
        return ""
    return f"Do not build the one shown: {SHORT[candidate.objection]}."


def _changes(count: int) -> str:
    return "no change" if count == 0 else "1 change" if count == 1 else f"{count} changes"
