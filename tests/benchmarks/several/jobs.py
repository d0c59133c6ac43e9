"""The jobs: the demo's fork and its motocross shock, with all of their stacks open and the demo's shelf."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from damping_model.damper.force import force_curve
from damping_model.units import MILLIMETRE
from optimiser.files.damper_builder import read_damper
from optimiser.files.shelf import read_shelf
from optimiser.intake.bands import HoldBand, Stroke, TargetBand
from optimiser.intake.goal_builder import goal_from_bands
from optimiser.model.open_stacks import DamperProblem
from optimiser.model.whole_physics import DamperAsked, damper_problem
from tests.helpers.paths import DEMO

FORK: Final = "yaffle_fork"
SHOCK: Final = "morwen_shock"

BOTH_SOFTER: Final[tuple[tuple[Stroke, float], ...]] = (("compression", -0.08), ("rebound", -0.06))


@dataclass(frozen=True)
class WholeJob:
    """One goal for a damper, every stack of which may change.

    Parameters
    ----------
    name : for the table.
    damper : its file.
    targets, holds : the bands.
    """

    name: str
    damper: str
    targets: Sequence[TargetBand]
    holds: Sequence[HoldBand]

    def problem(self) -> DamperProblem:
        """The damper, the shelf and what is asked."""
        described = read_damper(DEMO / "dampers" / f"{self.damper}.toml")
        goal = goal_from_bands(
            targets=self.targets,
            holds=self.holds,
            familiarity=None,
            forces=lambda velocities: (
                force_curve(described.damper, velocities=velocities).force_against_motion
            ),
            least_height=0.0,
            most_height=1.0,
        )
        asked = DamperAsked(
            goal=goal,
            stock=read_shelf(DEMO / "shelf.csv").stock,
            may_shrink=0.2 * MILLIMETRE,
            may_grow=0.2 * MILLIMETRE,
        )
        return damper_problem(described, [one.name for one in described.stacks], asked)


def jobs() -> Iterator[WholeJob]:
    """All of them, by the letter that a command names them by."""
    yield WholeJob(
        "a: fork, both strokes, three do it",
        FORK,
        [TargetBand(f"fast {s}", s, 0.6, 1.2, 0.02, shift=by) for s, by in BOTH_SOFTER],
        [HoldBand(f"slow {s}", s, 0.1, 0.2, 0.06) for s, _ in BOTH_SOFTER],
    )
    yield WholeJob(
        "b: fork, both strokes, out of reach",
        FORK,
        [_target("compression", 0.40), _target("rebound", -0.30)],
        [_hold("compression", 0.01), _hold("rebound", 0.01)],
    )
    yield WholeJob(
        "c: shock, a pair does it", SHOCK, [_target("compression", -0.20)], [_hold("compression", 0.02)]
    )
    yield WholeJob(
        "d: shock, two miss it by a hair",
        SHOCK,
        [_target("compression", 0.10, tolerance=0.015, strict=True)],
        [_hold("compression", 0.01)],
    )
    yield WholeJob(
        "e: shock, far out of reach",
        SHOCK,
        [_target("compression", 0.40, strict=True)],
        [_hold("compression", 0.01)],
    )


def _target(stroke: Stroke, shift: float, *, tolerance: float = 0.02, strict: bool = False) -> TargetBand:
    name = f"slow {stroke}"
    return TargetBand(name, stroke, 0.1, 0.3, tolerance, shift=shift, at_every_velocity=strict)


def _hold(stroke: Stroke, tolerance: float) -> HoldBand:
    return HoldBand(f"fast {stroke}", stroke, 0.8, 1.4, tolerance)
