"""How far the order inside packs moves the force: measured in each problem, since bounds know no order.

A bounding stack glues the shims of a pack into one plate. In truth thin shims on the piston's side part from
thicker ones behind them, so the force of a stack depends on the order by a share that differs from damper to
damper: it grows with the lift over the thickness of a shim, and with how unequal shims are.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from damping_model.errors import ModelError
from damping_model.stack.altered_plates import glued
from optimiser.model.edits import Keys, keys_of, stack_of
from optimiser.model.packs import packs_of
from optimiser.model.stock import ShimKey
from optimiser.search.evaluator import Evaluator, log_of
from optimiser.search.space.family import Family
from optimiser.search.space.problem_data import ProblemData

MORE: Final = 1.5
"""What is measured with a shim or two put in is multiplied by this for what more of them do. [-]"""


Shares = tuple[float, float]
"""Shares of the force by which stacks lie below and above those with their packs glued. [-]"""


@dataclass(frozen=True, slots=True)
class OrderSpread:
    """What the order inside packs does, pack by pack.

    Parameters
    ----------
    own : in the stack as it is.
    packs : by diameter [um], with one shim more in a pack of it; never less than ``own``.
    widening : how many times as wide as usual all margins are, once stacks that were drawn broke them. [-]
    """

    own: Shares
    packs: Mapping[int, Shares]
    widening: float = 1.0

    @property
    def worst(self) -> Shares:
        """Of all packs."""
        return _worst((self.own, *self.packs.values()))

    def of(self, family: Family) -> Shares:
        """For the members of a family: of the packs that shims come to.

        In a pack that is not there yet only two of them can be unequal.
        """
        other = self.own if sum(count for _, count in family.ins) < 2 else self.worst
        come_to = set().union(*[patch.outers for patch, _ in family.ins])
        return _worst((self.own, *(self.packs.get(outer, other) for outer in come_to)))


def _worst(shares: Iterable[Shares]) -> Shares:
    listed = list(shares)
    return max(below for below, _ in listed), max(above for _, above in listed)


NO_SPREAD: Final = OrderSpread((0.0, 0.0), {})
"""Where order makes no difference. [-]"""


def order_spread(data: ProblemData, evaluator: Evaluator, setting: int) -> OrderSpread:
    """Put the thinnest and the thickest shim there is before and behind each pack, and look at the force.

    Parameters
    ----------
    data : the problem.
    evaluator : what asks the physics.
    setting : of the adjusters.
    """
    outers, packed = [], []
    for outer, keys in ((0, keys_of(data.stack)), *_unequal(data)):
        try:
            one = evaluator.physics.packed(stack_of(keys))
        except ModelError:
            continue
        outers.append(outer)
        packed += [one, glued(one)]
    forces = evaluator.coarse_forces(packed, setting)
    found: dict[int, Shares] = {0: (0.0, 0.0)}
    for outer, own, whole in zip(outers, forces[::2], forces[1::2], strict=True):
        if own is not None and whole is not None:
            off = MORE * np.expm1(log_of(own) - log_of(whole))
            shares = (-float(off.min()), float(off.max()))
            found[outer] = _worst((found[0], found.get(outer, found[0]), shares))
    return OrderSpread(found.pop(0), found)


def _unequal(data: ProblemData) -> Iterator[tuple[int, Keys]]:
    """The stack with one shim more before a pack or behind it, where that is not all of one thickness."""
    clamp = data.mounting.clamp_diameter
    before: Keys = ()
    packs = packs_of(keys_of(data.stack))
    ringed = {pack.keys for pack in data.packs if pack.has_ring}
    for number, pack in enumerate(packs):
        behind = tuple(key for other in packs[number + 1 :] for key in other)
        if pack[0].shim.outer_diameter > clamp and pack not in ringed and pack[0].outer in data.plates:
            thin, thick = _extremes(data, pack[0].outer)
            for made in {(key, *pack) for key in (thin, thick)} | {(*pack, key) for key in (thin, thick)}:
                if len({key.thickness for key in made}) > 1:
                    yield pack[0].outer, (*before, *made, *behind)
        before = (*before, *pack)


def _extremes(data: ProblemData, outer: int) -> tuple[ShimKey, ShimKey]:
    types = sorted(data.plates[outer], key=lambda key: key.thickness)
    return types[0], types[-1]
