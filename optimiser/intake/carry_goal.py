"""A known feel as the goal of a job, with what the two frames cannot agree on among the reasons."""

from __future__ import annotations

from collections.abc import Sequence

from damping_model.vehicle.leverage import LeverageCurve
from optimiser.intake.carry import USUAL_STRETCH, CarryBand, carry_over
from optimiser.intake.goal_builder import Forces
from optimiser.intake.job_goal import JobGoal
from optimiser.model.goal import Goal
from optimiser.model.percent import percent_text, share_text


def carried_goal(
    *,
    bands: Sequence[CarryBand],
    known: LeverageCurve,
    known_forces: Forces,
    new: LeverageCurve,
    new_forces: Forces,
    least_height: float,
    most_height: float,
    stretch: tuple[float, float] = USUAL_STRETCH,
) -> JobGoal:
    """The goal of a damper that is to feel on a new frame as a known one does on its own.

    Parameters
    ----------
    bands : of wheel velocity.
    known, known_forces : the frame that feels right, and its damper's damping force [N] at signed shaft
        velocities [m/s].
    new, new_forces : the frame to be tuned, and its damper as it is.
    least_height, most_height : height range of the stack at rest. [m]
    stretch : part of the travel that is matched. [-]
    """
    carried = carry_over(
        bands=bands,
        known=known,
        known_forces=known_forces,
        new=new,
        new_forces=new_forces,
        stretch=stretch,
    )
    reasons = [carried.said]
    for window in carried.windows:
        asked = [desired / before - 1 for desired, before in zip(window.desired, window.before, strict=True)]
        low, high = min(map(abs, window.velocities)), max(map(abs, window.velocities))
        reasons.append(
            f"'{window.name}' is {low:.3g} to {high:.3g} m/s at the new shaft and asks for "
            f"{percent_text(min(asked), 0)} to {percent_text(max(asked), 0)} of what is there."
        )
    reasons.append(
        f"Matched place by place from {share_text(stretch[0])} to {share_text(stretch[1])} of both "
        f"travels; springs "
        "that answer "
        "to position, tyres and frame flex are not carried over."
    )
    goal = Goal(windows=carried.windows, least_height=least_height, most_height=most_height)
    return JobGoal(goal, tuple(reasons), ())
