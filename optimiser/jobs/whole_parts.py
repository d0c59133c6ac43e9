"""A damper with some combination of other parts, and all of its stacks open: searched over all at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

from optimiser.intake.basics import GateResult
from optimiser.intake.own_record import StepTaken
from optimiser.jobs.confidence import with_chances_of_all
from optimiser.jobs.part_ladder import Changes, work_time
from optimiser.jobs.part_problem import BOILS, NOT_DRAWN, OVERSTRESSED, TOO_HIGH, beyond
from optimiser.jobs.setup import JobSetup, set_up, with_other_parts
from optimiser.jobs.whole_answer import as_answer
from optimiser.jobs.whole_setup import named, whole_problem
from optimiser.model.answer import Answer, Candidate
from optimiser.model.damper_answer import DamperAnswer, DamperCandidate
from optimiser.model.damper_physics import DamperPhysics
from optimiser.model.objection import Objection
from optimiser.model.open_stacks import DamperProblem
from optimiser.model.other_parts import PartKind
from optimiser.model.whole_certificate import whole_faults
from optimiser.search import Control, Progress
from optimiser.several import solve_least_work, solve_whole


@dataclass
class AllStacks:
    """A damper with all stacks open; see :class:`optimiser.jobs.part_problem.PartProblem`.

    Parameters
    ----------
    setup : of the job, for one of its stacks.
    gate : its basics, which are passed.
    record : the shop's own steps.
    before : the damper with its own parts; None where this is it.

    Attributes
    ----------
    found : what was found for it last; None before any search.
    """

    setup: JobSetup
    gate: GateResult
    record: Sequence[StepTaken]
    before: AllStacks | None = None
    found: DamperAnswer | None = field(default=None, init=False)

    @cached_property
    def problem(self) -> DamperProblem:
        """The damper, the shelf and what is asked, whatever its chance."""
        return whole_problem(self.setup)

    @cached_property
    def posed(self) -> DamperProblem | None:
        """What a search is asked, with its chance where one is; None where that cannot be worked out."""
        level, before = self.setup.job.variant.confidence, self.before
        if level is None:
            return self.problem
        own = None if before is None else before.setup
        return with_chances_of_all(self.problem, self.setup, level=level, before=own)

    def with_parts(self, changes: Changes) -> AllStacks:
        """The same goal asked of the damper with other parts than it has now."""
        return AllStacks(with_other_parts(self.setup, changes), self.gate, self.record, self)

    def about(self, shown: DamperCandidate | None) -> JobSetup:
        """The job with these parts, set up for the first stack that changes, or whose ring does."""
        rings = [one.name for one in self.changes if one.kind is PartKind.RING]
        names = [] if shown is None else [self.problem.open_stacks[place].name for place in shown.changed]
        name = next(iter((*names, *rings)), self.setup.mounted.name)
        if name == self.setup.mounted.name:
            return self.setup
        job = (self.before or self).setup.job
        setup = set_up(named(job, name), gate=self.gate, record=self.record)
        return with_other_parts(setup, self.changes) if self.changes else setup

    def against(self) -> str:
        """Why these parts are not looked into; empty for no reason."""
        problem, before = self.problem, (self.before or self).problem
        for one, old in zip(problem.open_stacks, before.open_stacks, strict=True):
            if one.stack != old.stack and not one.least_height <= one.stack.height <= one.most_height:
                return TOO_HIGH.replace("the stack", f"the {one.name}")
        if problem.whole.objection(problem.present, problem.setting) is Objection.BOILS:
            return BOILS
        if stressed := self.overstressed(problem.setting):
            return stressed
        return NOT_DRAWN if self.posed is None else ""

    def overstressed(self, setting: int) -> str:
        """That a stack as it is would bear more than a changed one may, since other oil presses harder."""
        limit, before = self.setup.job.work.stress.kept, (self.before or self).problem
        if limit is None:
            return ""
        for new, old in zip(self.problem.open_stacks, before.open_stacks, strict=True):
            assert isinstance(new.physics, DamperPhysics)  # noqa: S101 - so are those of a whole problem
            assert isinstance(old.physics, DamperPhysics)  # noqa: S101
            now = old.physics.worst_stress(old.stack, before.setting)
            if beyond(limit, new.physics.worst_stress(new.stack, setting), now):
                return OVERSTRESSED.replace("the stack", f"the {new.name}")
        return ""

    def alone(self, *, control: Control[Progress]) -> Answer:
        """What these parts do with the stacks as they are, at every setting of the adjusters."""
        assert self.posed is not None  # noqa: S101 - else something speaks against it
        return self._told(solve_whole(self.posed, most_changes=0, control=control))

    def with_shims(
        self, most_changes: int, *, under: float, control: Control[Progress]
    ) -> tuple[Answer, bool]:
        """What they do with so many shims at most, in whichever stacks."""
        assert self.posed is not None  # noqa: S101 - else something speaks against it
        work = self.setup.job.work
        found, closed = solve_least_work(
            self.posed,
            most_changes=most_changes,
            under=under - work_time(work, self.changes, shims=0, opened=0),
            control=control,
            wanted=work.candidates,
            setting=self.setup.physics.middle if work.clickers_to_middle else None,
        )
        return self._told(found), closed

    def time(self, one: Candidate) -> float:
        """What these parts and a candidate's shims cost; each assembly is opened once for all of it. [s]"""
        places = {place.name: number for number, place in enumerate(self.problem.open_stacks)}
        opened = self.problem.opened(places[name] for name in one.opened(one.place))
        return work_time(self.setup.job.work, self.changes, shims=one.number_of_changes, opened=opened)

    def least_time(self, shims: int) -> float:
        """Least that these parts and so many shims cost: all of these in one assembly. [s]"""
        opened = self.problem.fewest_opened if shims else self.problem.opened(())
        return work_time(self.setup.job.work, self.changes, shims=shims, opened=opened)

    def faults(self, answer: Answer) -> Sequence[str]:  # noqa: ARG002 - what it was made of is judged
        """What does not hold of what was found, as the whole circuit is asked again."""
        return () if self.found is None else whole_faults(self.found, whole_problem(self.setup))

    @property
    def changes(self) -> Changes:
        """The parts that are others than now."""
        return () if self.setup.job.parts is None else self.setup.job.parts.changes

    def _told(self, found: DamperAnswer) -> Answer:
        self.found = found
        return as_answer(found, self.problem, self.setup)
