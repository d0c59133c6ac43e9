"""A study whose search were wrong would be refused, and not printed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimiser.errors import FaultError
from optimiser.model.answer import Candidate
from optimiser.model.problem import Problem
from optimiser.model.stock import Stock
from optimiser.studies import shopping
from optimiser.studies.farthest import FarthestShift
from optimiser.studies.purchases import Shopping
from optimiser.studies.reach import reach
from optimiser.studies.shopping import shop
from tests.helpers import toy

START = toy.stack((20, 0.2), (18, 0.2), (16, 0.15), (10, 0.3))
SHELF = Stock({toy.key(18, 0.3): 1, toy.key(18, 0.1): 1})
SOLD = [toy.key(16, 0.3), toy.key(18, 0.15)]


def problem(*, share: float = 0.1) -> Problem:
    physics = toy.ToyPhysics()
    before = physics.forces(physics.packed(START), 0)
    goal = toy.goal(physics, START, desired=before * (1 + share), tolerance=np.full(before.size, 0.05))
    return toy.problem(physics, START, SHELF, goal)


def firmer(one: Candidate) -> Candidate:
    """The same stack, said to give a hundredth more."""
    return replace(one, forces=tuple(1.01 * force for force in one.forces))


def test_a_reach_whose_forces_are_not_the_stack_s_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    assert reach(problem(), most_changes=1).proven
    recorded = FarthestShift.record
    monkeypatch.setattr(FarthestShift, "record", lambda self, one: recorded(self, firmer(one)))
    with pytest.raises(FaultError, match="not those of a fresh run") as refused:
        reach(problem(), most_changes=1)
    assert "no answer is shown" in str(refused.value)


def test_a_purchase_that_the_catalogue_does_not_sell_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is wanted is what 16x0.30 for 16x0.15 gives, which the shelf does not have."""
    physics = toy.ToyPhysics()
    wanted = physics.forces(physics.packed(toy.stack((20, 0.2), (18, 0.2), (16, 0.3), (10, 0.3))), 0)
    goal = toy.goal(physics, START, desired=wanted, tolerance=np.full(6, 0.003), targets=6)
    asked = toy.problem(physics, START, SHELF, goal)
    sound = shop(asked, sold=SOLD, most_changes=1)
    assert sound.purchases

    def other_pieces(*_: object, **__: object) -> Shopping:
        (looked,) = sound.looked
        listed = tuple(replace(one, pieces=((toy.key(20, 0.3), 1),)) for one in looked.purchases)
        return replace(sound, looked=(replace(looked, purchases=listed),))

    monkeypatch.setattr(shopping, "_searched", other_pieces)
    with pytest.raises(FaultError, match="its stack takes other shims"):
        shop(asked, sold=SOLD, most_changes=1)
