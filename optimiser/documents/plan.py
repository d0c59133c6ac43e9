"""What ``shimwright plan --json`` writes: the keys that other programs may rely on.

Keys are only ever added; ``format`` changes its number when one has to change its meaning.
"""

from __future__ import annotations

from typing import Final, Literal

from pydantic import Field

from optimiser.documents.common import (
    ChangesDocument,
    Document,
    EffortDocument,
    FindingDocument,
    FromShelf,
    LeftOutDocument,
    OtherStackDocument,
    ShimDocument,
    UnansweredDocument,
)
from optimiser.documents.effort_step import EffortStepDocument
from optimiser.documents.folded import FoldedDocument
from optimiser.documents.parts import PartsDocument
from optimiser.documents.ride import RideEventDocument
from optimiser.documents.sure import ConfidenceDocument, SureDocument

FORMAT: Final = "shimwright plan 2"

StatusName = Literal[
    "proven least",
    "best so far",
    "not all answered",
    "by small steps",
    "proven impossible",
    "interrupted",
    "not searched",
]
"""How far an answer may be trusted: :class:`optimiser.model.answer.Status`, or that nothing was asked."""


class BandDocument(Document):
    """One window of the goal and what a candidate does in it; lists run over its velocities."""

    name: str
    role: Literal["target", "hold", "familiarity"]
    stroke: Literal["compression", "rebound"]
    velocities_m_s: list[float]
    """Shaft velocities, positive in both strokes."""
    before_n: list[float]
    """Damping force at the shaft with the damper as it is."""
    least_n: list[float]
    wanted_n: list[float]
    most_n: list[float]
    after_n: list[float]
    change_percent: list[float]
    average_before_n: float
    """Average force over the logarithm of velocity; likewise the next."""
    average_after_n: float
    average_percent: float
    """Average change over the logarithm of velocity."""
    average_least_percent: float | None
    """Least that the average change may be; null where each velocity counts alone. Likewise the next two."""
    average_wanted_percent: float | None
    average_most_percent: float | None
    tightest_m_s: float | None
    """Speed where the forces come nearest to their limits; null where the average is asked."""
    missed_by_percent: float
    """Of the force before, by which the worst limit is missed; 0 when all are kept."""
    missed_at_m_s: float | None
    """Speed where that is; null for the average, and where none is missed."""
    within: bool
    """Whether every velocity lies between least_n and most_n, and the average within its limits."""
    verdict: Literal["in range", "at the edge", "out of range"]
    """At the edge: a limit is missed by less than the model's own accuracy."""


class FeltDocument(Document):
    """Damping ratio at sag in the middle of one target band: context, not a target."""

    band: str
    stroke: Literal["compression", "rebound"]
    corner: str
    sag_mm: float
    """As wheel travel: measured, or the middle of the usual range."""
    wheel_velocity_m_s: float
    damping_ratio_before: float
    damping_ratio_after: float
    natural_frequency_hz: float
    """Undamped, of the sprung mass on the spring."""


class StressDocument(Document):
    """The highest stress in a stack at the largest pressure that the job's bands put on it."""

    shim: int
    """Its place, 1 for the face shim."""
    type: ShimDocument
    von_mises_mpa: float
    radius_mm: float
    pressure_drop_bar: float
    """Across the stack."""
    limit_mpa: float
    within_limit: bool


class CandidateDocument(Document):
    """A stack to build, or the nearest one that cannot reach the goal."""

    rank: int
    number_of_changes: int
    changes: ChangesDocument
    steps: list[str]
    """What a person does, in order."""
    stack: list[ShimDocument]
    """From the piston outwards."""
    height_mm: float
    height_change_mm: float
    adjusters: dict[str, int]
    """Clicks out from closed, by adjuster."""
    bands: list[BandDocument]
    felt: list[FeltDocument] = Field(default_factory=list)
    """One entry a target band; empty where spring, masses or corner are not known."""
    miss_percent: float
    """Largest distance from the wanted force over the target windows."""
    change_elsewhere_percent: float
    """Largest change over the held windows."""
    from_shelf: list[FromShelf]
    """What it takes from the shelf, of how many, and where those lie."""
    misfit: float
    """How far outside the windows, in half-widths of a window; 0 when all are met."""
    best_at: list[str]
    stress: StressDocument | None = None
    """None where no oil lifts the stack in the job's bands."""
    objection: Literal["oil would boil", "a shim would be overstressed"] | None = None
    """What speaks against building a nearest stack all the same."""
    aimed: float | None = None
    """Average change on target over the largest change anywhere else; null where nothing else is judged."""
    way: str | None = None
    """Where in the stack the work is done; null for the nearest."""
    more_like_it: int = 0
    """Candidates that were found and do their work in the same place."""
    sure: SureDocument | None = None
    """How surely it does what is promised; null where that is not known."""
    others: list[OtherStackDocument] = Field(default_factory=list)
    """Other stacks that it changes besides; changes and from_shelf are those of all of them together."""
    stays_shut: list[str] = Field(default_factory=list)
    """Stacks that might have changed and need not be opened."""


class InTheWayDocument(Document):
    """A window that the nearest stack misses."""

    name: str
    role: Literal["target", "hold", "familiarity"]
    missed_points: float
    """Percent of the force before by which the worst limit is missed."""
    missed_n: float
    at_m_s: float | None
    """Speed where that is; null for the average."""


class LooseningDocument(Document):
    """One window that, loosened so far, lets a stack through that meets all else."""

    name: str
    kind: Literal["hold", "ask", "familiarity"]
    changes: int
    """Most changes of shims; 0 is clicks alone."""
    present_percent: float
    percent: float
    """Tolerance, or shift on average, that would do."""
    typed: str
    """The command line that plans it."""
    proven: bool
    """Whether no smaller one does with as few changes."""


class MoreSayDocument(Document):
    """Another stack that makes more of a target's force than the one that may change."""

    band: str
    stack: str
    share_percent: float
    own_share_percent: float
    typed: str


class CheckedDocument(Document):
    """Stacks that were ruled out, drawn at random and judged by the whole model."""

    drawn: int
    """How many; none of them meets the goal."""
    nearest_percent: float | None
    """By how much of the force the nearest of them misses a limit."""
    margins_percent: list[float] | None
    """By how much of the force bounds were widened at most, below and above; null over several stacks, where
    it differs from stack to stack."""
    reopened: int
    """How often one of them met the goal, and all was searched anew with margins twice as wide."""
    predicted: int = 0
    """Sets of shims that were ruled out by forces predicted from those of others, within measured margins."""


class PlanDocument(Document):
    """The whole answer to a job."""

    format: Literal["shimwright plan 2"] = FORMAT
    job: str
    damper: str
    stack_name: str
    """The stack that candidates are given for; what they do in others is in their others."""
    open_stacks: list[str] = Field(default_factory=list)
    """All stacks that might change."""
    outcome: Literal[
        "basics first", "clicks", "shims", "parts", "near enough", "cannot be reached", "nothing found"
    ]
    """What to do; or that the shelf cannot; or that time ran out first."""
    status: StatusName
    said: str
    """The answer in a sentence."""
    measured: bool = False
    """Whether shims that were measured were planned with as what they measure."""
    most_changes: int
    proven_too_few: int
    """Proven: no stack with at most this many changes meets the goal; -1 when nothing is."""
    findings: list[FindingDocument]
    override_reason: str | None
    ladder: list[EffortStepDocument] = Field(default_factory=list)
    """What each step of effort buys, from clicks alone upwards."""
    do_first: str | None = None
    """Which step to take and why; null where none is in range or near enough."""
    stress_before: StressDocument | None = None
    """Of the stack as it is."""
    stress_reason: str | None = None
    """Why the search did not keep to the limit; null when it did."""
    advice: list[str] = Field(default_factory=list)
    """What to do first when the goal is not met, as a stack that is too coarse for it."""
    remarks: list[str] = Field(default_factory=list)
    """Time that ran out, with how to go on; oil that would boil sooner than it does."""
    in_the_way: list[InTheWayDocument] = Field(default_factory=list)
    """When nothing meets the goal: what the nearest stack misses, the worst first."""
    loosenings: list[LooseningDocument] = Field(default_factory=list)
    """When nothing meets the goal: each of them would do, fewest changes first."""
    one_more_change: str | None = None
    """The command line that plans one change more, where a stack was found that then meets the goal."""
    more_say: list[MoreSayDocument] = Field(default_factory=list)
    confidence: ConfidenceDocument | None = None
    """What became of --confidence; null where it was not given, or nothing meets the goal as it is."""
    parts: PartsDocument | None = None
    """What the parts under [[at_hand]] of the job do; null where it names none."""
    ride: RideEventDocument | None = None
    """The event behind the complaint, simulated, before and after each step of effort; null where none is."""
    candidates: list[CandidateDocument]
    folded: list[FoldedDocument] = Field(default_factory=list)
    """What meets the goal besides: for a shelf that other jobs want, too."""
    nearest: CandidateDocument | None
    nearest_proven: bool
    left_out: LeftOutDocument = LeftOutDocument(boiling=0, overstressed=0)
    """Of those that meet the goal, or come nearer than the nearest."""
    unanswered: UnansweredDocument = UnansweredDocument(settings=[], stacks=[])
    """Nothing that rests on them is called proven."""
    checked: CheckedDocument | None = None
    """How the proof was checked; null when none rests on bounds."""
    effort: EffortDocument
    sheet: str | None
    sheet_kept: str | None = None
    """Path of the build sheet that was written."""

    @property
    def buildable(self) -> tuple[CandidateDocument | FoldedDocument, ...]:
        """Everything that meets the goal, by rank."""
        return (*self.candidates, *self.folded)
