"""A damper of the damping model, asked in the way that the search asks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.boiling import Span
from damping_model.damper.damper import Damper
from damping_model.damper.response import StackResponse
from damping_model.flow.paths import Clicker
from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from damping_model.stack.steel import SpringSteel
from damping_model.stack.stress import worst_stress
from optimiser.errors import InputError
from optimiser.model.objection import Objection
from optimiser.model.stress import MORE_STRESS, StackStress

ELEMENTS, TOLERANCE = 10.0, 1e-4
"""Elements and Newton steps that a stack is lifted with for coarse forces and for signs. [-]"""

KNOTS: Final = 8
"""Pressures of coarse forces, evenly over the logarithms of what all velocities ask for. [-]"""

EXCESS_TOLERANCE: Final = 4e-3
"""Share of the force by which the sign of an excess may be wrong about the force curve. [-]"""

EXACT_TOLERANCE: Final = 5e-4
"""The same of the sign of an exact excess. [-]"""

BEYOND: Final = 1.3
"""Pressures reach this factor beyond what the forces that are wanted ask for. [-]"""

MOST_FACTOR: Final = 5.0
"""Forces that lie further off the present ones than this factor are not sought. [-]"""


class DamperPhysics:
    """Damping forces of one damper with one stack open, at every setting of the clickers that matter.

    Parameters
    ----------
    damper : with the stack that it has now.
    stack_name : the stack that may change.
    velocities : where the goal is judged, positive in compression. [m/s]
    temperature : of the oil; the damper's own when left out. [K]
    steel : of the shims.
    wanted : least and most force that is asked for at each velocity, as shares of the present one; between
        them coarse forces are good. The present one alone when left out. [-]
    spans : stretches of velocity in which oil may not boil, within the velocities; the velocities alone when
        left out. [m/s]
    stress_limit : what no shim of a changed stack may be stressed beyond, unless one of the stack as it is
        is, and then not by :data:`optimiser.model.stress.MORE_STRESS` more than it; None for no limit. [Pa]

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
        wanted: tuple[NDArray[np.float64], NDArray[np.float64]] | None = None,
        spans: Sequence[Span] = (),
        stress_limit: float | None = None,
    ) -> None:
        everywhere = np.ones(velocities.size)
        least, most = wanted or (everywhere, everywhere)
        low, high = np.clip([least.min(), most.max()], 1 / MOST_FACTOR, MOST_FACTOR)
        self.excess_tolerance, self.exact_tolerance = EXCESS_TOLERANCE, EXACT_TOLERANCE
        self._response = StackResponse(
            damper,
            valve=stack_name,
            velocities=velocities,
            temperature=temperature,
            steel=steel,
            knots=KNOTS,
            beyond=(float(low) / BEYOND, float(high) * BEYOND),
            elements=ELEMENTS,
            tolerance=TOLERANCE,
        )
        if not self._response.keeps_order:
            raise InputError(
                f"the valves of '{damper.name}' close a ring, so a stiffer stack may send oil another way "
                "and no search can prove anything. Its curve can be drawn; its stack cannot be planned."
            )
        self._sign = np.where(velocities < 0, -1.0, 1.0)
        self._stress_limit = stress_limit
        self._present = damper.stack_path(stack_name).stack
        self._objections: dict[tuple[Stack, int], Objection | None] = {}
        self._present_stress: dict[int, StackStress | None] = {}
        self._spans = tuple(spans) or tuple((float(v), float(v)) for v in velocities)
        now = self.packed(damper.stack_path(stack_name).stack)
        clickers = [clicker for clicker in damper.clickers if self._matters(clicker, now)]
        names = [clicker.name for clicker in clickers]
        positions = product(*(range(len(clicker.areas)) for clicker in clickers))
        self.settings: tuple[Mapping[str, int], ...] = tuple(
            dict(zip(names, position, strict=True)) for position in positions
        )
        self.setting = self.settings.index({clicker.name: clicker.position for clicker in clickers})

    @property
    def steel(self) -> SpringSteel:
        """Of the shims."""
        return self._response.steel

    @property
    def has_say(self) -> NDArray[np.bool_]:
        """Velocities at which the stack has a say in the force, whatever shims it is of (velocities,)."""
        return self._response.pushed_open

    @property
    def middle(self) -> int:
        """The setting with every adjuster that matters in the middle of its range, or next to it."""
        last = self.settings[-1]
        return self.settings.index({name: last[name] // 2 for name in last})

    def packed(self, stack: Stack) -> PackedStack:
        """Plates that a stack amounts to."""
        return self._response.packed(stack)

    def forces(self, packed: PackedStack, setting: int) -> NDArray[np.float64]:
        """Damping force at each velocity, as a force curve gives it. [N]"""
        return np.asarray(self._sign * self._response.exact_forces(packed, clicks=self.settings[setting]))

    def coarse_forces(self, packed: PackedStack, setting: int) -> NDArray[np.float64]:
        """Damping force at each velocity, from a few pressures. [N]"""
        return np.asarray(self._sign * self._response.forces(packed, clicks=self.settings[setting]))

    def excesses(
        self,
        packed: PackedStack,
        setting: int,
        *,
        places: Sequence[int],
        forces: Sequence[float],
        exactly: bool,
    ) -> NDArray[np.float64]:
        """Logarithms of the damping force over others at some velocities, each from one pressure. [-]

        ``exactly`` on the grid and by the entries of a force curve.
        """
        signed = [float(self._sign[place]) * force for place, force in zip(places, forces, strict=True)]
        clicks = self.settings[setting]
        return self._response.excesses(packed, places=places, forces=signed, exactly=exactly, clicks=clicks)

    def promised(self, packed: PackedStack, setting: int) -> bool:
        """Whether oil boils nowhere in the spans, so that the model promises its figures there."""
        return self._response.stays_whole(packed, self._spans, clicks=self.settings[setting])

    def worst_stress(self, stack: Stack, setting: int) -> StackStress | None:
        """The highest stress in a stack at the largest pressure that the velocities put on it.

        None where no oil lifts it.
        """
        packed, path = self.packed(stack), self._response.path
        pressure = self._response.face_pressure(packed, clicks=self.settings[setting])
        if pressure <= 0:
            return None
        worst = worst_stress(
            path.as_it_is(stack),
            packed,
            seat=path.seat,
            load=path.face_pressure,
            pressure=pressure,
            steel=self.steel,
        )
        return None if worst is None else StackStress(worst, pressure)

    def objection(self, stack: Stack, setting: int) -> Objection | None:
        """What speaks against a stack; whoever lists it asks, so each is looked into once."""
        place = stack, setting
        if place not in self._objections:
            self._objections[place] = self._objection(stack, setting)
        return self._objections[place]

    def _objection(self, stack: Stack, setting: int) -> Objection | None:
        if not self.promised(self.packed(stack), setting):
            return Objection.BOILS
        return Objection.OVERSTRESSED if self.overstressed(stack, setting) else None

    def overstressed(self, stack: Stack, setting: int) -> bool:
        """Whether a shim of a changed stack is stressed beyond the limit, and beyond what there is now."""
        limit = self._stress_limit
        if limit is None or stack == self._present:
            return False
        new = self.worst_stress(stack, setting)
        if new is None or new.worst.von_mises <= limit:
            return False
        if setting not in self._present_stress:
            self._present_stress[setting] = self.worst_stress(self._present, setting)
        old = self._present_stress[setting]
        return old is None or new.worst.von_mises > old.worst.von_mises * (1 + MORE_STRESS)

    def _matters(self, clicker: Clicker, packed: PackedStack) -> bool:
        shut = self._response.forces(packed, clicks={clicker.name: 0})
        wide = self._response.forces(packed, clicks={clicker.name: len(clicker.areas) - 1})
        return not np.allclose(shut, wide, rtol=1e-6, atol=1e-9)
