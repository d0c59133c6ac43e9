"""A stiffer pack may lift more: small lift against bending and rigid contact solved by other means."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest

from damping_model.stack.lift import FacePressure, Seat, lift_curve
from damping_model.stack.packs import PackedStack, pack_stack
from tests.helpers.linear_stack import linear_lift
from tests.helpers.stacks import STEEL, Job, pressed, pressures_for, random_stack, seat_of, stack_of

SMALL = 0.02
"""Share of all heights and pressures, at which lift is small beside the thickness that the stiffness is for."""

PROUD: Job = (
    stack_of(
        *[(22, 0.05)] * 3, (15.8, 0.05), *[(22, 0.15)] * 2, *[(20, 0.2)] * 2, *[(19, 0.25)] * 3, *[(16, 0.3)] * 2,
        hole=7,
    ),
    seat_of(7, 10.788, seat_height=0.05e-3),
    pressed(7.659, 10.215, 10.788),
)  # fmt: skip
"""A lip that lifts the face off the rest by as much as the crossover's height."""

FLAT: Job = (
    stack_of(
        *[(20, 0.05)] * 6, (10.8, 0.15), *[(18, 0.25)] * 3, *[(15, 0.25)] * 2, *[(12, 0.3)] * 3, *[(11, 0.25)] * 3,
        hole=4,
    ),
    seat_of(4, 9.533),
    pressed(5.41, 8.656, 9.533),
)  # fmt: skip
"""A face that closes a gap of 0.15 mm."""


def small(
    job: Job,
) -> tuple[PackedStack, Seat, FacePressure, np.ndarray[tuple[int, ...], np.dtype[np.float64]]]:
    """The stack in the thin limit with all heights made small, and its lowest five of twelve pressures."""
    stack, seat, load = job
    packs = pack_stack(stack, clamp_radius=seat.clamp_radius, steel=STEEL, thin=True)
    pressures = SMALL * pressures_for(packs, seat, 12)[:5]
    shrunk = tuple(pack._replace(height=SMALL * pack.height) for pack in packs.packs)
    return (
        replace(packs.with_packs(shrunk), face_thickness=SMALL * packs.face_thickness),
        replace(seat, seat_height=SMALL * seat.seat_height),
        load,
        pressures,
    )


@pytest.mark.parametrize("job", [PROUD, FLAT], ids=["proud lip", "flat"])
def test_a_face_twice_as_stiff_lifts_more_by_another_model_too(job: Job) -> None:
    """Where a gap has just closed, by some per cent: both say so, and by as much to 0.05 % of the lift."""
    packs, seat, load, pressures = small(job)
    face = packs.packs[0]
    stiffer = face._replace(bending=2 * face.bending, stretching=2 * face.stretching)
    twice = packs.with_packs((stiffer, *packs.packs[1:]))
    ours, theirs = [], []
    for each in (packs, twice):
        ours.append(lift_curve(each, seat=seat, load=load, pressures=pressures, tolerance=1e-8).seat_lift)
        theirs.append(linear_lift(each, seat, load, pressures, 48))
    assert np.max(theirs[1] / theirs[0]) > 1.04
    assert ours[1] / ours[0] == pytest.approx(theirs[1] / theirs[0], abs=5e-4)


def test_small_lift_is_that_of_another_model() -> None:
    """Random stacks with crossovers agree with bending and rigid contact solved by other means to 0.1 %."""
    rng = random.Random(31)
    for _ in range(6):
        packs, seat, load, pressures = small(random_stack(rng, crossovers=True))
        ours = lift_curve(packs, seat=seat, load=load, pressures=pressures, tolerance=1e-8).seat_lift
        theirs = linear_lift(packs, seat, load, pressures, 48)
        assert ours == pytest.approx(theirs, rel=1e-3, abs=1e-4 * seat.seat_height)
