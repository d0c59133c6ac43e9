"""The main job as one value: what was asked, what the basics say, what the search found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from damping_model.stack.stack import Stack
from optimiser.allocation.real_shims import RealShims
from optimiser.intake.basics import GateResult
from optimiser.intake.felt import FeltChange, FeltPlace, felt_changes
from optimiser.intake.job_goal import JobGoal
from optimiser.jobs.confidence import Confidence
from optimiser.jobs.how_sure import NOT_SAID, HowSure
from optimiser.jobs.job import Job
from optimiser.jobs.ladder import LadderStep, recommended
from optimiser.jobs.part_ladder import PartLadder
from optimiser.jobs.ride_job import JobRide
from optimiser.jobs.stress import StressCheck
from optimiser.jobs.way_out import WayOut
from optimiser.model.answer import Answer, Candidate, Status
from optimiser.model.damper_description import DamperDescription, MountedStack
from optimiser.model.ladder import folded_away
from optimiser.model.other_parts import PartChange, opened_for
from optimiser.model.taken import Taken, taken_together
from optimiser.model.ways import Idea


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A job and its answer.

    Parameters
    ----------
    job : the job.
    gate : the basics.
    mounted : the stack that may change, as it was before, in its place.
    asked : the goal and how it came about; None when the basics come first.
    settings : positions of the adjusters that the search could choose from.
    setting : the one the damper is at.
    answer : what the search found; None when the basics come first.
    felt_at : where damping is felt; None when spring, mass or corner are not known.
    advice : what to do first when the goal is not met, in sentences.
    remarks : what else to know, in sentences: time that ran out, oil that boils sooner.
    way_out : what would do where nothing meets the goal; None elsewhere.
    ladder : what each step of effort does, from clicks alone upwards.
    stress : of the shims before and after; None when the basics come first.
    sure : how surely each listed candidate and each step of effort does what is promised.
    confidence : what became of the wish that all limits hold in most dampers built like this; None without.
    parts : what other parts do, where the job says what is at hand; None elsewhere.
    ride : the event behind the complaint, ridden; None where none is, or the machine is not known.
    open_stacks : names of all stacks that may change; the one of ``mounted`` alone when empty.
    real : for candidates that take measured shims, which of them, and what the damper does with those.
    """

    job: Job
    gate: GateResult
    mounted: MountedStack
    asked: JobGoal | None = None
    settings: tuple[Mapping[str, int], ...] = ()
    setting: int = 0
    answer: Answer | None = None
    felt_at: FeltPlace | None = None
    advice: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    way_out: WayOut | None = None
    ladder: tuple[LadderStep, ...] = ()
    stress: StressCheck | None = None
    sure: HowSure = NOT_SAID
    confidence: Confidence | None = None
    parts: PartLadder | None = None
    ride: JobRide | None = None
    open_stacks: tuple[str, ...] = ()
    real: Mapping[Candidate, RealShims] = field(default_factory=dict)

    @property
    def old_stack(self) -> Stack:
        """The stack as it was before."""
        return self.mounted.stack

    @property
    def part_changes(self) -> tuple[PartChange, ...]:
        """Parts that become others with what this plan lists; none where the damper keeps its own."""
        return () if self.job.parts is None else self.job.parts.changes

    @property
    def as_it_is(self) -> DamperDescription:
        """The damper as it is now, with its own parts."""
        return self.job.damper if self.job.parts is None else self.job.parts.damper

    @property
    def outcome(self) -> str:
        """What to do; or that the shelf cannot, or that nothing was found in time."""
        if self.answer is None:
            return "basics first"
        if self.part_changes:
            return "parts"
        if self.answer.candidates:
            return "shims" if self.answer.candidates[0].number_of_changes else "clicks"
        if self.near_enough is not None:
            return "near enough"
        return "cannot be reached" if self.answer.status is Status.PROVEN_IMPOSSIBLE else "nothing found"

    @property
    def shown(self) -> Candidate | None:
        """The candidate that a sheet is about: the first, or what is near enough, or the nearest."""
        if self.answer is None:
            return None
        if self.answer.candidates:
            return self.least_work or self.answer.candidates[0]
        return self.near_enough or self.answer.nearest

    @property
    def least_work(self) -> Candidate | None:
        """Of candidates in several stacks the one that takes fewest hours; None where one stack is open."""
        found = recommended(self.ladder) if self.open_stacks else None
        return None if found is None or not found.step.rung.in_range else found.step.best

    def stays_shut(self, candidate: Candidate) -> tuple[str, ...]:
        """Names of the stacks that might have changed and need not be opened, for another part either."""
        opened, lies_in = candidate.opened(self.mounted.name), self.job.damper.assemblies
        anyway = opened_for(self.part_changes, self.job.damper)
        return tuple(name for name in self.open_stacks if name not in opened and lies_in[name] not in anyway)

    @property
    def surest(self) -> Candidate | None:
        """Of several candidates the one whose limits all hold most often; None where that is not known."""
        known = [(self.sure.of(one), one) for one in (() if self.answer is None else self.answer.candidates)]
        found = [(spread.chance, one) for spread, one in known if spread is not None]
        return max(found, key=lambda pair: pair[0])[1] if len(found) > 1 else None

    @property
    def near_enough(self) -> Candidate | None:
        """Where nothing meets the goal, the least effort that misses it by less than a rider feels."""
        if self.answer is None or self.answer.candidates:
            return None
        found = recommended(self.ladder)
        return None if found is None else found.step.best

    @property
    def folded(self) -> tuple[Candidate, ...]:
        """What meets the goal and is not listed, since it does its work where a listed one does."""
        return () if self.answer is None else folded_away(self.answer, [step.rung for step in self.ladder])

    @property
    def buildable(self) -> tuple[Candidate, ...]:
        """Everything that meets the goal: the candidates, then what is folded under them."""
        return () if self.answer is None else (*self.answer.candidates, *self.folded)

    def idea_of(self, candidate: Candidate) -> Idea | None:
        """The way of a listed candidate, with those that are like it; None where it has none."""
        ideas = (idea for step in self.ladder for idea in step.rung.ideas)
        name = candidate.stack, candidate.setting
        return next((idea for idea in ideas if (idea.best.stack, idea.best.setting) == name), None)

    def taken(self, candidate: Candidate) -> tuple[Taken, ...]:
        """What a candidate takes from the shelf, and which single shims where they were measured."""
        real = self.real.get(candidate)
        places = {mounted.name: mounted.stack for mounted in self.job.damper.stacks}
        pairs = [(places[one.name], one.stack) for one in candidate.others]
        found = taken_together(self.job.stock, [(self.old_stack, candidate.stack), *pairs])
        if real is None:
            return found
        return tuple(
            replace(one, readings=real.chosen[one.key].readings) if one.key in real.chosen else one
            for one in found
        )

    def turned(self, candidate: Candidate) -> dict[str, tuple[int, int]]:
        """Adjusters that a candidate moves, from and to, in clicks out from closed."""
        before, after = self.settings[self.setting], self.settings[candidate.setting]
        return {name: (at, after[name]) for name, at in before.items() if after[name] != at}

    @property
    def interrupted(self) -> bool:
        """Whether the user stopped the search."""
        return self.answer is not None and self.answer.status is Status.INTERRUPTED

    def felt(self, candidate: Candidate) -> tuple[FeltChange, ...]:
        """Damping as felt at sag, before and with a candidate; empty when it is not known."""
        if self.asked is None or self.felt_at is None:
            return ()
        return felt_changes(self.asked.goal, candidate.forces, self.felt_at)
