"""A build that was measured on a dyno, laid over what was promised of it, band by band."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.force import force_curve
from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.dyno.on_bands import Matched, MeasuredForces, at_setting, band_move, measured_forces
from optimiser.dyno.run import DynoRun
from optimiser.errors import InputError
from optimiser.model.band_outcome import BandOutcome
from optimiser.model.damper_description import DamperDescription
from optimiser.model.edits import keys_of
from optimiser.model.goal import Goal, Role, Window, mean_change
from optimiser.spread.directions import Directions
from optimiser.spread.drawn_forces import Built, DrawnForces
from optimiser.spread.model_uncertainty import NO_MODEL_UNCERTAINTY, ModelUncertainty
from optimiser.spread.spread import spreads
from optimiser.unknowns.damper_unknowns import damper_unknowns
from optimiser.unknowns.knowledge import Knowledge

Floats = NDArray[np.float64]

ENDS: Final = 3.92
"""Standard deviations that an interval of 19 in 20 is wide. [-]"""

SEED: Final = 11
"""Of the drawn dampers: the same runs give the same interval."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltStack:
    """What was changed.

    Parameters
    ----------
    damper : as it was before, with what is known of it.
    stack_name : the stack that was changed.
    new : the stack that was built, from the piston outwards.
    clicks_before, clicks_after : clicks out of every adjuster, for the runs before and after.
    others : other stacks that were built too, by name.
    """

    damper: DamperDescription
    stack_name: str
    new: Stack
    clicks_before: Mapping[str, int]
    clicks_after: Mapping[str, int]
    others: tuple[tuple[str, Stack], ...] = ()


@dataclass(frozen=True, slots=True)
class AskedBand:
    """A band that something was promised of.

    Parameters
    ----------
    name, role : of the band.
    velocities : positive in compression, in rising order of speed. [m/s]
    """

    name: str
    role: Role
    velocities: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """A measured build beside its promise.

    Parameters
    ----------
    bands : those that the runs reach.
    notes : runs and bands that were left out, and why; a sentence each.
    level_only : whether nothing was measured before: the change is counted from the model's own force.
    temperature : of the damper that was measured. [K]
    """

    bands: tuple[BandOutcome, ...]
    notes: tuple[str, ...]
    level_only: bool
    temperature: float


def before_after(
    built: BuiltStack,
    asked: Sequence[AskedBand],
    *,
    before: Sequence[DynoRun],
    after: Sequence[DynoRun],
    known: Knowledge | None = None,
    model_uncertainty: ModelUncertainty | None = None,
) -> BeforeAfter:
    """Lay runs after a build over runs before it, and their change over the prediction.

    The prediction is made anew at the clicks and the temperature of the runs, so that neither counts as an
    error of it.

    Parameters
    ----------
    built : what was changed.
    asked : the bands.
    before, after : runs of the damper; without any before, the model's own force stands in for them.
    known : what is known of the damper's figures; their usual uncertainty when left out.
    model_uncertainty : of the model's own error.

    Raises
    ------
    InputError
        When no run is at the setting of the build, or the runs reach no band.
    ModelError
        When the damper cannot be computed.
    """
    later = at_setting(after, clicks=built.clicks_after)
    temperature = _temperature(later, built)
    earlier = at_setting(before, clicks=built.clicks_before, temperature=temperature)
    notes = [*later.left_out, *earlier.left_out]
    if not later.runs or (before and not earlier.runs):
        raise InputError(
            "No run is at the setting of the build"
            f"{'' if not later.runs else ', before it'}; expected one. " + " ".join(notes)
        )
    goal, new_forces = _predicted(built, asked, temperature)
    drawn = _drawn(built, goal, temperature, known)
    spread = _spread(built, goal, drawn, model_uncertainty or ModelUncertainty())
    unsure = _spread(built, goal, drawn, NO_MODEL_UNCERTAINTY)
    velocities = goal.velocities
    now = measured_forces(later.runs, velocities)
    then = measured_forces(earlier.runs, velocities) if before else MeasuredForces(np.log(goal.before), 0.0)
    found = []
    for place, (window, part) in enumerate(goal.parts):
        moved = band_move(_part(then, part), _part(now, part), window.velocities)
        if moved is None:
            notes.append(f"Band '{window.name}': left out, the runs reach less than half of it.")
            continue
        band, own = spread[place], unsure[place]
        found.append(
            BandOutcome(
                name=window.name,
                role=window.role,
                predicted=float(mean_change(window, new_forces[part])),
                low=float(np.log1p(band[0])),
                high=float(np.log1p(band[1])),
                unsure=float(np.log1p(own[1]) - np.log1p(own[0])) / ENDS,
                measured=moved.average,
                uncertainty=moved.uncertainty,
                share=moved.share,
            )
        )
    if not found:
        raise InputError("The runs reach none of the job's bands. " + " ".join(notes))
    return BeforeAfter(tuple(found), tuple(notes), not before, temperature)


def _temperature(later: Matched, built: BuiltStack) -> float:
    said = [run.temperature for run in later.runs if run.temperature is not None]
    return float(np.mean(said)) if said else built.damper.damper.temperature


def _predicted(built: BuiltStack, asked: Sequence[AskedBand], temperature: float) -> tuple[Goal, Floats]:
    """The bands with the forces before, and the forces of the new stack, at the setting of the runs."""
    velocities = np.array([velocity for band in asked for velocity in band.velocities])
    old = built.damper.damper
    after = built.damper.with_stack(built.stack_name, built.new)
    for name, stack in built.others:
        after = after.with_stack(name, stack)
    new = after.damper
    was, now = (
        force_curve(
            damper, velocities=velocities, temperature=temperature, clicks=clicks
        ).force_against_motion
        for damper, clicks in ((old, built.clicks_before), (new, built.clicks_after))
    )
    windows, start = [], 0
    for band in asked:
        force = tuple(float(one) for one in was[start : start + len(band.velocities)])
        start += len(band.velocities)
        windows.append(Window(band.name, band.role, band.velocities, force, force, force, force))
    return Goal(windows=tuple(windows), least_height=0.0, most_height=np.inf), now


def _drawn(built: BuiltStack, goal: Goal, temperature: float, known: Knowledge | None) -> DrawnForces:
    """The damper, ready to be drawn again and again at the settings before and after."""
    stacks = (built.new, *(stack for _, stack in built.others))
    comes = {key.thickness * MICROMETRE for stack in stacks for key in keys_of(stack)}
    unknowns = damper_unknowns(built.damper, comes=comes)
    return DrawnForces(
        built.damper.damper,
        stack_name=built.stack_name,
        velocities=goal.velocities,
        settings=(built.clicks_before, built.clicks_after),
        directions=Directions.of(Knowledge.of(unknowns, learnt=known)),
        temperature=temperature,
    )


def _spread(
    built: BuiltStack, goal: Goal, drawn: DrawnForces, error: ModelUncertainty
) -> list[tuple[float, float]]:
    """Between what the average change of each band lies 19 times in 20, as a share. [-]"""
    stack = built.damper.damper.stack_path(built.stack_name).stack
    (found,) = spreads(
        drawn,
        goal,
        present=Built(stack, 0),
        builds=[Built(built.new, 1, built.others)],
        model_uncertainty=error,
        seed=SEED,
    )
    return [(band.low, band.high) for band in found.bands]


def _part(forces: MeasuredForces, part: slice) -> MeasuredForces:
    return replace(forces, logs=forces.logs[part])
