"""From what a job says, in bands, words or one instant, to the goal, with every reason on the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from optimiser.errors import InputError
from optimiser.intake.adjusted import Adjusted
from optimiser.intake.bands import RIGHT_WAY, HoldBand, TargetBand
from optimiser.intake.complaint import Complaint, Vocabulary, held_words, hold_tolerance, interpret
from optimiser.intake.familiarity import familiarity_for
from optimiser.intake.goal_builder import BOTH_STROKES, Forces, goal_from_bands
from optimiser.intake.machine import Corner, Machine, Rider
from optimiser.intake.narrow import ByRide, EventAsked, as_ridden_window, event_at_the_shaft, narrowed
from optimiser.intake.one_click import Turning, as_fine_as, nearest_click, other_stroke_eased
from optimiser.intake.promise import Boils, nothing_boils, within_promise
from optimiser.model.goal import Goal
from optimiser.model.percent import percent_text, share_text

NOTHING_SAID: Final = Complaint()

AS_THE_JOB_SAYS: Final = Adjusted()


@dataclass(frozen=True, slots=True)
class Asked:
    """What a job asks for.

    Parameters
    ----------
    complaint : symptom and numbers.
    event : one instant; None for a broad complaint.
    targets, holds : bands given outright; when there is a target, they stand and the complaint is only words.
    familiarity : the most that any force may move; 1 or more for no limit, None for the usual. [-]
    adjusted : bands that are asked otherwise than all this comes to.
    """

    complaint: Complaint = NOTHING_SAID
    event: EventAsked | None = None
    targets: tuple[TargetBand, ...] = ()
    holds: tuple[HoldBand, ...] = ()
    familiarity: float | None = None
    adjusted: Adjusted = AS_THE_JOB_SAYS


@dataclass(frozen=True, slots=True)
class JobGoal:
    """A goal and how it came about.

    Parameters
    ----------
    goal : for the search.
    reasons : in sentences, so that the tuner can disagree.
    look_first : what to look at before the damper.
    targets : the bands of its first windows; empty where they are not asked by a shift.
    familiarity : the limit that its targets keep to besides; None for none. [-]
    right_way : parts of the shift that each velocity of a target moves by, at least and at most. [-]
    """

    goal: Goal
    reasons: tuple[str, ...]
    look_first: tuple[str, ...]
    targets: tuple[TargetBand, ...] = ()
    familiarity: float | None = None
    right_way: tuple[float, float] = RIGHT_WAY


def goal_for(
    asked: Asked,
    *,
    vocabulary: Vocabulary,
    machine: Machine,
    rider: Rider,
    sag: float | None,
    forces: Forces,
    least_height: float,
    most_height: float,
    across: bool = True,
    boils: Boils = nothing_boils,
    turning: Turning | None = None,
    by_ride: ByRide | None = None,
) -> JobGoal:
    """The goal of a job for a damper as it is.

    A stroke of which the job says nothing is held, unless nothing that may change reaches across to it.

    Parameters
    ----------
    asked : bands, words or an instant.
    vocabulary : the shop's symptoms.
    machine, rider : whose job it is.
    sag : measured at the corner of an event, as wheel travel; None for the usual. [m]
    forces : damping forces [N] of the damper as it is, at signed shaft velocities [m/s].
    least_height, most_height : height range of the stack at rest. [m]
    across : whether an adjuster moves both strokes, see :func:`~optimiser.intake.prediction.reaches_across`.
    boils : where oil boils with the damper as it is; bands that come from words or by default leave it out.
    turning : the damper's adjusters; words are no finer than they are. None for no adjuster.
    by_ride : the velocities of an instant as a ride has them; None where nothing can be ridden.

    Raises
    ------
    InputError
        When the job says too little, or contradicts itself.
    """
    reasons: list[str] = []
    look_first: tuple[str, ...] = ()
    targets: Sequence[TargetBand] = asked.targets
    holds: Sequence[HoldBand] = asked.holds
    narrow = asked.event is not None
    if not targets:
        complaint = asked.complaint
        if asked.event is not None:
            corner = corner_of(complaint, vocabulary, machine)
            window = event_at_the_shaft(asked.event, machine=machine, corner=corner, rider=rider, sag=sag)
            if by_ride is not None:
                window = as_ridden_window(window, by_ride)
            complaint = narrowed(complaint, window)
            reasons += [f"Assumed: {assumption}." for assumption in window.assumptions]
        found = interpret(complaint, vocabulary)
        look_first = found.look_first
        reasons += found.reasons
        targets, cut = within_promise(found.targets, boils)
        holds, more = within_promise(found.holds, boils)
        reasons += [*cut, *more]
    rest = hold_tolerance(replace(asked.complaint, narrow=narrow), targets, vocabulary)
    other = other_stroke_held(targets, holds, vocabulary, tolerance=rest) if across else ()
    if turning is not None:
        targets, other, said = _no_finer_than_a_click(
            targets, holds, other, asked=asked, turning=turning, vocabulary=vocabulary
        )
        reasons += said
    kept, cut = within_promise(other, boils)
    holds = (*holds, *kept)
    reasons += [
        f"Held: {hold.label} within {held_words(hold)}; one stroke's complaint is not mended by the other."
        for hold in kept
    ]
    reasons += cut
    familiar = familiarity_for(asked=asked.familiarity, narrow=narrow, targets=targets)
    reasons.append(familiar.reason)
    adjusted = asked.adjusted
    as_asked = adjusted.targets(targets, forces)
    goal = goal_from_bands(
        targets=as_asked,
        holds=adjusted.holds(holds),
        familiarity=familiar.limit,
        familiar_tolerances=adjusted.tolerances,
        forces=forces,
        least_height=least_height,
        most_height=most_height,
        right_way=vocabulary.right_way,
        promised=lambda stretches: within_promise(stretches, boils)[0],
        familiar_strokes=BOTH_STROKES if across else sorted({band.stroke for band in (*targets, *holds)}),
    )
    reasons += adjusted.reasons(goal, targets=targets, holds=holds, familiarity=familiar.limit, forces=forces)
    return JobGoal(goal, tuple(reasons), look_first, as_asked, familiar.limit, vocabulary.right_way)


def _no_finer_than_a_click(
    targets: Sequence[TargetBand],
    holds: Sequence[HoldBand],
    other: tuple[HoldBand, ...],
    *,
    asked: Asked,
    turning: Turning,
    vocabulary: Vocabulary,
) -> tuple[Sequence[TargetBand], tuple[HoldBand, ...], tuple[str, ...]]:
    """Targets in words and what is held of the other stroke, as fine as the adjusters are, with sentences."""
    words = next((band for band in targets if band.in_words), None)
    click = None if words is None else nearest_click(words, holds, turning)
    if words is None or click is None:
        return targets, other, ()
    said = []
    finer = as_fine_as(click, words)
    if finer.tolerance > words.tolerance:
        said.append(
            f"Words are no finer than a click: '{click.adjuster}' to {click.position} out comes nearest with "
            f"{percent_text(click.shift, 0)}, so the average may end {share_text(finer.tolerance, 1)} "
            f"from what is wanted."
        )
    if asked.complaint.hold_tolerance is None:
        bands = tuple(vocabulary.bands.values())
        eased = tuple(part for hold in other for part in other_stroke_eased(hold, click, turning, bands))
        if eased != other:
            said.append(
                f"'{click.adjuster}' works in both strokes; what it does to the other one at "
                f"{click.position} out is allowed."
            )
        other = eased
    return tuple(finer if band is words else band for band in targets), other, tuple(said)


def other_stroke_held(
    targets: Sequence[TargetBand], holds: Sequence[HoldBand], vocabulary: Vocabulary, *, tolerance: float
) -> tuple[HoldBand, ...]:
    """A held band over each stroke of which a job says nothing.

    Without it an adjuster of the other stroke might be turned from end to end for the little that it lends.
    """
    named = {band.stroke for band in (*targets, *holds)}
    low = min(band.low for band in vocabulary.bands.values())
    high = max(band.high for band in vocabulary.bands.values())
    return tuple(
        HoldBand(f"all {stroke}", stroke, low, high, tolerance)
        for stroke in BOTH_STROKES
        if stroke not in named
    )


def corner_of(complaint: Complaint, vocabulary: Vocabulary, machine: Machine) -> Corner:
    """The corner that a complaint is about: named, or the only one at the symptom's end.

    Raises
    ------
    InputError
        When that leaves none, or several.
    """
    if complaint.corner is not None:
        return machine.corner(complaint.corner)
    end = vocabulary.symptom(complaint.symptom).end if complaint.symptom else "either"
    fitting = [corner for corner in machine.corners if end in {"either", corner.end}]
    if len(fitting) == 1:
        return fitting[0]
    names = ", ".join(f"'{corner.name}'" for corner in fitting or machine.corners)
    raise InputError(
        f"the complaint does not say which wheel it is about: got no corner, expected one of {names}. "
        "Add corner under [complaint]."
    )
