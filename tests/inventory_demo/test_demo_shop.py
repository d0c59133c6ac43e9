"""The demo shop is one that a tuner believes: dampers of the trade's sizes, and stories that each end in their own way.

Sizes are orders of magnitude: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Final

import numpy as np
import pytest

from damping_model.damper.force import force_curve
from damping_model.units import MILLIMETRE
from optimiser.files.base import read_toml
from optimiser.files.basics_ranges_file import read_ranges
from optimiser.files.bike_file import BikeFile
from optimiser.files.catalogue import read_catalogue
from optimiser.files.damper_builder import read_damper
from optimiser.files.rider_file import RiderFile
from optimiser.files.shelf import read_shelf
from optimiser.intake.felt import as_felt
from optimiser.intake.site import place_at_usual_sag
from optimiser.jobs.ladder import Advice, recommended
from optimiser.jobs.planned import Planned
from optimiser.model.answer import Status
from optimiser.model.damper_description import DamperDescription
from optimiser.model.damper_physics import DamperPhysics
from optimiser.model.stress import USUAL_LIMIT
from tests.helpers.counts import thorough_only
from tests.helpers.known_plans import KnownPlans
from tests.helpers.paths import DEMO

Range = tuple[float, float]
Stories = Callable[[str], Planned]

FORCES: Final[dict[str, dict[float, Range]]] = {
    "tarn_shock": {0.2: (300, 600), 1.0: (600, 1500), -0.2: (450, 1500), -1.0: (900, 3750)},
    "dunnock_shock": {0.2: (300, 600), 1.0: (600, 1500), -0.2: (450, 1500), -1.0: (900, 3750)},
    "yaffle_fork": {0.2: (150, 350), 1.0: (300, 800), -0.2: (150, 700), -1.0: (300, 1600)},
    "morwen_shock": {1.0: (1000, 2500), -1.0: (1500, 4000)},
    "osier_shock": {1.0: (1000, 3000), -1.0: (1500, 5000)},
}
"""Least and most damping force [N] at a shaft velocity [m/s] of each damper; common practice, no source.

Those of the four-wheeler are of the motocross shock, wider: its kind is less alike from one to the next.
"""

SHARE_OF_REBOUND: Final = (1.5, 2.5)
"""Rebound over compression of a trail shock at 0.2 m/s; common practice, no source. [-]"""

WALLOWS: Final = (0.2, 0.35)
"""Damping ratio at sag, in low-speed compression, of a bike that wallows; common practice, no source. [-]"""

FASTEST: Final = {
    "tarn_shock": (1.5, 1.0), "yaffle_fork": (1.5, 1.0), "morwen_shock": (1.5, 1.0), "osier_shock": (1.5, 1.0),
}  # fmt: skip
"""Up to where no stack of a damper is stressed beyond the limit, in compression and in rebound. [m/s]

The delivered shock is left out: few thick shims are stressed more than many thin ones, and that is its story.
"""

DAMPERS: Final = sorted(path.stem for path in (DEMO / "dampers").glob("*.toml"))


@cache
def damper(name: str) -> DamperDescription:
    return read_damper(DEMO / "dampers" / f"{name}.toml")


@pytest.fixture
def planned(known_plans: KnownPlans) -> Stories:
    """The plan of a story by its letter."""

    def plan(story: str) -> Planned:
        (path,) = (DEMO / "jobs").glob(f"{story}_*.toml")
        return known_plans.of(DEMO, path.stem)

    return plan


def forces(name: str, *velocities: float) -> list[float]:
    return list(force_curve(damper(name).damper, velocities=np.array(velocities)).force_against_motion)


@pytest.mark.parametrize("name", DAMPERS)
def test_every_damper_is_as_firm_as_its_kind(name: str) -> None:
    got = dict(zip(FORCES[name], forces(name, *FORCES[name]), strict=True))
    assert {v: f for v, f in got.items() if not FORCES[name][v][0] <= f <= FORCES[name][v][1]} == {}


@pytest.mark.parametrize("name", ["tarn_shock", "dunnock_shock"])
def test_a_trail_shock_comes_back_slower_than_it_goes_in(name: str) -> None:
    into, back = forces(name, 0.2, -0.2)
    assert SHARE_OF_REBOUND[0] <= back / into <= SHARE_OF_REBOUND[1]


@pytest.mark.parametrize("velocity", [0.04, 0.06, 0.08])
def test_the_bike_that_wallows_has_little_damping_at_low_speed(velocity: float) -> None:
    machine = read_toml(DEMO / "bikes" / "oxlip_trail.toml", BikeFile, what="bike").machine()
    rider = read_toml(DEMO / "riders" / "ines.toml", RiderFile, what="rider").rider()
    place = place_at_usual_sag(machine, machine.corner("rear"), rider, read_ranges())
    assert place is not None
    felt = as_felt(
        force=lambda v: forces("tarn_shock", v)[0],
        wheel_velocity=velocity / place.leverage.motion_ratio(wheel_travel=place.sag),
        wheel_travel=place.sag,
        leverage=place.leverage,
        wheel_rate=place.wheel_rate,
        sprung_mass=place.sprung_mass,
    )
    assert WALLOWS[0] <= felt.damping_ratio <= WALLOWS[1]


@pytest.mark.parametrize("name", list(FASTEST))
def test_no_stack_is_stressed_beyond_the_limit_as_it_is(name: str) -> None:
    described = damper(name)
    for sign, fastest in zip((1, -1), FASTEST[name], strict=True):
        for path in described.damper.stacks:
            physics = DamperPhysics(
                described.damper,
                stack_name=path.name,
                velocities=sign * np.array([0.1, fastest]),
                temperature=None,
            )
            stress = physics.worst_stress(path.stack, physics.setting)
            assert stress is None or stress.worst.von_mises <= USUAL_LIMIT, path.name


@pytest.mark.parametrize("name", DAMPERS)
def test_every_stack_can_be_built_and_shelf_and_catalogue_have_its_hole(name: str) -> None:
    damper(name).refuse_what_cannot_be_built()
    on_shelf = {key.inner for key in read_shelf(DEMO / "shelf.csv").stock.counts}
    offered = {offer.key.inner for offer in read_catalogue(DEMO / "catalogue.csv")}
    holes = {round(one.mounting.hole_diameter / MILLIMETRE * 1000) for one in damper(name).stacks}
    assert holes <= on_shelf
    assert holes <= offered


def test_wrong_sag_comes_before_any_damper(planned: Stories) -> None:
    assert planned("c").outcome == "basics first"


def test_a_touch_less_support_takes_clicks_alone(planned: Stories) -> None:
    story = planned("b")
    assert story.outcome == "clicks"
    assert_within_the_limit(story)


@thorough_only("the stack of every story is searched")
@pytest.mark.parametrize("name", ["a", "e", "f", "h", "i", "j"])
def test_a_job_worth_opening_a_damper_for_is_answered_where_clicks_are_felt_to_fail(
    name: str, planned: Stories
) -> None:
    story = planned(name)
    assert story.outcome == "shims"
    assert story.answer is not None
    assert story.answer.status is Status.PROVEN_LEAST
    clicks, *shims = story.ladder
    assert not clicks.rung.in_range
    assert clicks.worst is not None
    assert clicks.worst[1].felt
    assert shims[0].rung.in_range
    best = recommended(story.ladder)
    assert best is not None
    assert best.advice is Advice.IN_RANGE
    assert_within_the_limit(story)


@thorough_only("the stack of each is searched")
def test_what_cannot_be_had_comes_with_a_way_out(planned: Stories) -> None:
    story = planned("d")
    assert story.answer is not None
    assert story.answer.status is Status.PROVEN_IMPOSSIBLE
    assert story.way_out is not None
    assert story.way_out.loosenings


@thorough_only("every single change is tried")
def test_a_stack_of_few_shims_is_too_coarse_and_more_changes_would_do(planned: Stories) -> None:
    story = planned("g")
    assert story.answer is not None
    assert story.answer.status is Status.PROVEN_IMPOSSIBLE
    assert any("too coarse" in words for words in story.advice)


def assert_within_the_limit(story: Planned) -> None:
    """Of everything that is listed, and of the stack as it is."""
    assert story.stress is not None
    assert story.answer is not None
    stresses = [story.stress.before, *(story.stress.of(one) for one in story.answer.candidates)]
    assert [s.worst.von_mises for s in stresses if s is not None and s.worst.von_mises > USUAL_LIMIT] == []
