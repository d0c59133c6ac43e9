"""A damper of the damping model, asked in the way that the search asks."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product

import numpy as np
from numpy.typing import NDArray

from damping_model.damper import Damper
from damping_model.packs import PackedStack
from damping_model.paths import Clicker
from damping_model.response import StackResponse
from damping_model.stack import Stack
from damping_model.steel import SpringSteel
from optimiser.errors import InputError


class DamperPhysics:
    """Resisting forces of one damper with one stack open, at every setting of the clickers that matter.

    Parameters
    ----------
    damper : with the stack that it has now.
    stack_name : the stack that may change.
    velocities : where the goal is judged, positive in compression. [m/s]
    temperature : of the oil; the damper's own when left out. [K]
    steel : of the shims.

    Notes
    -----
    A clicker matters when opening or closing it all the way moves a force at one of the velocities; others
    stay where they are. The settings are all positions of those that matter, the present one among them.
    """

    def __init__(
        self,
        damper: Damper,
        *,
        stack_name: str,
        velocities: NDArray[np.float64],
        temperature: float | None,
        steel: SpringSteel | None = None,
    ) -> None:
        self._response = StackResponse(
            damper, valve=stack_name, velocities=velocities, temperature=temperature, steel=steel
        )
        if not self._response.keeps_order:
            raise InputError(
                f"the valves of '{damper.name}' close a ring, so a stiffer stack may send oil another way "
                "and no search can prove anything. Its curve can be drawn; its stack cannot be planned."
            )
        self._sign = np.where(velocities < 0, -1.0, 1.0)
        now = self.packed(damper.stack_path(stack_name).stack)
        clickers = [clicker for clicker in damper.clickers if self._matters(clicker, now)]
        names = [clicker.name for clicker in clickers]
        positions = product(*(range(len(clicker.areas)) for clicker in clickers))
        self.settings: tuple[Mapping[str, int], ...] = tuple(
            dict(zip(names, position, strict=True)) for position in positions
        )
        self.setting = self.settings.index({clicker.name: clicker.position for clicker in clickers})

    def packed(self, stack: Stack) -> PackedStack:
        """Plates that a stack amounts to."""
        return self._response.packed(stack)

    def forces(self, packed: PackedStack, setting: int) -> NDArray[np.float64]:
        """Resisting force at each velocity. [N]"""
        return np.asarray(self._sign * self._response.forces(packed, clicks=self.settings[setting]))

    def _matters(self, clicker: Clicker, packed: PackedStack) -> bool:
        shut = self._response.forces(packed, clicks={clicker.name: 0})
        wide = self._response.forces(packed, clicks={clicker.name: len(clicker.areas) - 1})
        return not np.allclose(shut, wide, rtol=1e-6, atol=1e-9)
