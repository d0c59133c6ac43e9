"""The build sheet as a value: everything that the page shows, in SI units, before any of it is drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.jobs.ride_job import JobRide
from optimiser.model.answer import Answer, Candidate
from optimiser.model.goal import Goal
from optimiser.model.other_parts import PartChange, PartKind
from optimiser.model.taken import Taken
from optimiser.report.band_rows import BandRow, band_rows
from optimiser.report.cautions import cautions
from optimiser.report.finding import FindingKind, PlanFinding
from optimiser.report.ladder_text import LadderView
from optimiser.report.part_words import part_steps, parts_words
from optimiser.report.service_facts import ServiceFacts
from optimiser.report.stack_to_build import Seating, StackToBuild
from optimiser.report.steps import Step, hole_of, places_in, places_out, steps
from optimiser.report.unit_system import UnitSystem
from optimiser.spread.spread import Spread


@dataclass(frozen=True, slots=True)
class Heading:
    """Whose job it is, in the words of the people concerned.

    Parameters
    ----------
    title : what the job is called.
    shop, rider, bike, damper : names.
    valve : which stack of the damper is meant.
    complaint : what the rider said; empty when the job names bands only.
    day : when the sheet was made.
    """

    title: str
    shop: str
    rider: str
    bike: str
    damper: str
    valve: str
    complaint: str
    day: date


@dataclass(frozen=True, slots=True)
class AdjusterMove:
    """What becomes of an outside adjuster, counted in clicks out from fully closed.

    Parameters
    ----------
    name : what it adjusts.
    before, after : where it stood, where it is to stand.
    most : clicks out when fully open.
    """

    name: str
    before: int
    after: int
    most: int

    @property
    def instruction(self) -> str:
        """What to do with it."""
        if self.before == self.after:
            return "leave it"
        count = abs(self.after - self.before)
        way = "out (open)" if self.after > self.before else "in (close)"
        return f"{count} {'click' if count == 1 else 'clicks'} {way}"


@dataclass(frozen=True, slots=True)
class CurveLine:
    """Damping force against shaft velocity.

    Parameters
    ----------
    name : what the line is called in the legend.
    velocities : rising, negative in rebound. [m/s]
    forces : damping force at each. [N]
    promised_to : speed beyond which oil would boil and nothing is promised; None: no such limit. [m/s]
    """

    name: str
    velocities: tuple[float, ...]
    forces: tuple[float, ...]
    promised_to: float | None = None

    def __post_init__(self) -> None:
        """Refuse a line with a point missing."""
        if len(self.velocities) != len(self.forces):
            raise ValueError(
                f"curve '{self.name}': got {len(self.forces)} forces, "
                f"expected one for each of {len(self.velocities)} velocities."
            )


@dataclass(frozen=True, slots=True)
class BuildSheet:
    """Everything that the page shows.

    Parameters
    ----------
    heading : whose job it is.
    finding : how far the answer may be trusted.
    goal : the windows asked for, drawn into the curves.
    bands : the same windows, judged.
    adjusters : before and after.
    steps : what to do with the stack.
    old_stack, new_stack : from the piston outwards.
    taken_out, put_in : places in the old and in the new stack, 0 at the piston.
    seating : what the stack sits on.
    curves : force before and after.
    measured : what a dyno showed of the damper as it is.
    cautions : sentences.
    basis : what the figures rest on, sentences.
    override_reason : why a gate was passed; None when none was.
    ladder : what each step of effort does; None when there is nothing to say.
    ways_out : what would do where nothing meets the goal, and the line to type for each.
    service : what is known of the damper for whoever builds it; None for nothing.
    sure : how surely it does what is promised; None where that is not known.
    part_steps : what to do about oil, gas, bleeds and rings, sentences; none where they stay.
    ride : the event behind the complaint, and the step of effort that is drawn; None where none was ridden.
    others : other stacks of the damper that change besides.
    stays_shut : which stacks might have changed and need not be opened, in a sentence; empty for none.
    """

    heading: Heading
    finding: PlanFinding
    goal: Goal
    bands: tuple[BandRow, ...]
    adjusters: tuple[AdjusterMove, ...]
    steps: tuple[Step, ...]
    old_stack: Stack
    new_stack: Stack
    taken_out: frozenset[int]
    put_in: frozenset[int]
    seating: Seating
    curves: tuple[CurveLine, ...]
    measured: tuple[CurveLine, ...]
    cautions: tuple[str, ...]
    basis: tuple[str, ...]
    override_reason: str | None = None
    ladder: LadderView | None = None
    ways_out: tuple[tuple[str, str], ...] = ()
    service: ServiceFacts | None = None
    sure: Spread | None = None
    part_steps: tuple[str, ...] = ()
    ride: tuple[JobRide, int] | None = None
    others: tuple[StackToBuild, ...] = ()
    stays_shut: str = ""

    @property
    def height_change(self) -> float:
        """Height of the new stack less that of the old. [m]"""
        return self.new_stack.height - self.old_stack.height


def build_sheet(
    *,
    heading: Heading,
    answer: Answer,
    candidate: Candidate,
    goal: Goal,
    old_stack: Stack,
    seating: Seating,
    adjusters: tuple[AdjusterMove, ...],
    curves: tuple[CurveLine, ...],
    measured: Sequence[CurveLine] = (),
    basis: tuple[str, ...],
    gas_charged: bool,
    override_reason: str | None = None,
    ladder: LadderView | None = None,
    near_enough: bool = False,
    ways_out: tuple[tuple[str, str], ...] = (),
    service: ServiceFacts | None = None,
    taken: tuple[Taken, ...] = (),
    sure: Spread | None = None,
    parts: tuple[PartChange, ...] = (),
    ride: tuple[JobRide, int] | None = None,
    others: tuple[StackToBuild, ...] = (),
    stays_shut: str = "",
) -> BuildSheet:
    """Sheet for one candidate of an answer, or for its nearest when nothing meets the goal.

    Parameters
    ----------
    heading, seating, adjusters, curves, measured, basis, override_reason, ladder, ways_out, service, sure,
        ride : as in :class:`BuildSheet`.
    others, stays_shut : as in :class:`BuildSheet`.
    answer : what the search returned.
    candidate : the one to build; when it is not among the answer's candidates the sheet says 'nearest'.
    near_enough : whether it is not among them and misses the goal by less than a rider feels.
    goal : what was searched for.
    old_stack : the stack as it is.
    gas_charged : whether the damper holds gas.
    taken : what the candidate takes from the shelf.
    parts : of the damper that become others.
    """
    finding = PlanFinding.of(answer, candidate, near_enough=near_enough, parts=parts_words(parts))
    kinds = {one.kind for one in parts}
    return BuildSheet(
        heading=heading,
        finding=finding,
        goal=goal,
        bands=band_rows(goal, candidate.forces),
        adjusters=adjusters,
        steps=steps(candidate.changes, hole=hole_of(old_stack), new=candidate.stack, taken=taken),
        old_stack=old_stack,
        new_stack=candidate.stack,
        taken_out=places_out(candidate.changes),
        put_in=places_in(candidate.changes),
        seating=seating,
        curves=curves,
        measured=tuple(measured),
        cautions=cautions(
            opened=bool(candidate.number_of_changes) or bool(kinds - {PartKind.GAS}),
            gas_charged=gas_charged,
            gas_filled=PartKind.GAS in kinds,
            reached=finding.kind is not FindingKind.NEAREST,
        ),
        basis=basis,
        override_reason=override_reason,
        ladder=ladder,
        ways_out=ways_out,
        service=service,
        sure=sure,
        part_steps=tuple(part_steps(parts)),
        ride=ride,
        others=others,
        stays_shut=stays_shut,
    )


def height_advice(change: float, units: UnitSystem) -> str:
    """What to do about a change in height [m] of the stack."""
    if abs(change) < MICROMETRE / 2:
        return "Height is unchanged: nothing to do under the nut."
    size = units.length_text(abs(change))
    if change < 0:
        return (
            f"The stack is {size} lower: add spacers of {size} between stack and nut, "
            "no wider than the clamp shim, so that the nut bears on the same threads."
        )
    return (
        f"The stack is {size} higher: take {size} of spacers from under the nut; if there are none, "
        "make sure that enough thread length is left for the nut before it is tightened."
    )
