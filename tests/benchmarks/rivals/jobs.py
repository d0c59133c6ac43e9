"""The jobs: two dampers of the stiff shop, and goals found by trying until the least was one change, or two, or none."""

from __future__ import annotations

from typing import Final

from damping_model.damper.damper import Damper
from damping_model.damper.force import force_curve
from damping_model.stack.stack import Stack
from damping_model.stack.steel import SpringSteel
from damping_model.units import MILLIMETRE
from optimiser.files.damper_builder import read_damper
from optimiser.files.job_reader import read_job
from optimiser.files.shelf import read_shelf
from optimiser.intake.bands import HoldBand, TargetBand
from optimiser.intake.goal_builder import goal_from_bands
from optimiser.jobs.plan import plan_job
from optimiser.model.damper_description import MountedStack
from optimiser.model.damper_physics import DamperPhysics
from optimiser.model.goal import Goal
from optimiser.model.stock import ShimKey, Stock
from optimiser.search import Control
from tests.benchmarks.rivals.question import Question
from tests.helpers.paths import STIFF_SHOP

STACK: Final = "compression stack"

CUT_DOWN_SHELF: Final = Stock(
    {
        ShimKey.from_millimetres(outer=outer, thickness=thickness, inner=8): count
        for outer, thickness, count in (
            (20, 0.10, 2),
            (20, 0.15, 1),
            (17, 0.10, 2),
            (17, 0.20, 1),
            (14, 0.10, 1),
        )
    }
)
"""Small enough that every stack within two changes can be tried."""


def whole_shelf() -> Stock:
    """The stiff shop's shelf."""
    return read_shelf(STIFF_SHOP / "shelf.csv").stock


def mounted_in(damper: str) -> MountedStack:
    """The compression stack of a damper, in its place."""
    return read_damper(STIFF_SHOP / "dampers" / damper).stack_named(STACK, where=damper)


def damper_with(damper: str) -> Damper:
    """A damper of it."""
    return read_damper(STIFF_SHOP / "dampers" / damper).damper


def goal_of(
    damper: Damper,
    stack: Stack,
    *,
    shift: float,
    tolerance: float,
    hold: float,
    shrink: float,
    room: float,
    target: tuple[float, float] = (0.06, 0.12),
    held: tuple[float, float] = (0.70, 1.60),
) -> Goal:
    """One low-speed band that moves by a share of its force, one high-speed band that stays within a share.

    Parameters
    ----------
    damper, stack : as they are.
    shift, tolerance, hold : of the low-speed force, and of both. [-]
    shrink : how far the stack's height may fall; it may grow by 0.2 mm. [m]
    room : what the stack's height may be at most. [m]
    target, held : shaft velocities of the bands. [m/s]
    """
    return goal_from_bands(
        targets=[
            TargetBand("low speed", "compression", *target, tolerance, shift=shift, at_every_velocity=True)
        ],
        holds=[HoldBand("high speed", "compression", *held, hold)],
        familiarity=None,
        forces=lambda velocities: force_curve(damper, velocities=velocities).force_against_motion,
        least_height=stack.height - shrink,
        most_height=min(stack.height + 0.2 * MILLIMETRE, room),
    )


def question(
    name: str,
    *,
    damper: Damper,
    mounted: MountedStack,
    stack: Stack,
    goal: Goal,
    stock: Stock,
    most_changes: int,
) -> Question:
    """A goal for a damper, as a question for any method."""
    return Question(
        name,
        lambda: DamperPhysics(
            damper,
            stack_name=mounted.name,
            velocities=goal.velocities,
            temperature=None,
            steel=SpringSteel(),
            wanted=goal.shares,
        ),
        stack,
        mounted.mounting,
        stock,
        goal,
        most_changes,
    )


def small(name: str, shift: float, tolerance: float, hold: float, most_changes: int) -> Question:
    """Seven shims and five types of shim."""
    damper, mounted = damper_with("dunnock_shock.toml"), mounted_in("dunnock_shock.toml")
    stack = mounted.stack
    goal = goal_of(
        damper, stack, shift=shift, tolerance=tolerance, hold=hold, shrink=0.2 * MILLIMETRE,
        room=mounted.mounting.most_height, target=(0.06, 0.15), held=(0.6, 1.4),
    )  # fmt: skip
    return question(
        name, damper=damper, mounted=mounted, stack=stack, goal=goal, stock=CUT_DOWN_SHELF,
        most_changes=most_changes,
    )  # fmt: skip


def large(name: str, shift: float, tolerance: float, hold: float, most_changes: int) -> Question:
    """Two dozen shims and the stiff shop's shelf."""
    damper, mounted = damper_with("tarn_shock.toml"), mounted_in("tarn_shock.toml")
    stack = mounted.stack
    goal = goal_of(
        damper, stack, shift=shift, tolerance=tolerance, hold=hold, shrink=0.4 * MILLIMETRE,
        room=mounted.mounting.most_height,
    )  # fmt: skip
    return question(
        name, damper=damper, mounted=mounted, stack=stack, goal=goal, stock=whole_shelf(),
        most_changes=most_changes,
    )  # fmt: skip


def demo_job(name: str, file: str, most_changes: int) -> Question:
    """A job of the stiff shop, with the goal that its plan has."""
    job = read_job(STIFF_SHOP / "jobs" / file)
    plan = plan_job(job, control=Control(time_limit=1e-6))
    asked = plan.asked
    if asked is None:
        raise ValueError(f"got a plan without a goal for {file}, expected a job whose basics are in range")
    return question(
        name,
        damper=job.damper.damper,
        mounted=plan.mounted,
        stack=plan.old_stack,
        goal=asked.goal,
        stock=job.stock,
        most_changes=most_changes,
    )


def questions() -> tuple[Question, ...]:
    """All jobs, from the smallest."""
    return (
        small("1: seven shims, five types on the shelf, one change allowed", 0.06, 0.03, 0.04, 1),
        small("2: the same damper and shelf, two changes allowed and needed", -0.15, 0.03, 0.10, 2),
        demo_job("3: two dozen shims, the whole shelf, one change allowed", "a_more_support.toml", 1),
        large("4: the same damper and shelf, two changes allowed and needed", 0.20, 0.02, 0.03, 2),
        small("5: seven shims, five types, out of reach within two changes", 0.60, 0.02, 0.01, 2),
    )
