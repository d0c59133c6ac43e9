"""Forces of a damper with one of its stacks open to change: everything but that stack is prepared once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.boiling import Span, stays_whole
from damping_model.damper.damper import NO_CLICKS, Damper
from damping_model.damper.demand import Demand
from damping_model.damper.force import checked_velocities, solved
from damping_model.damper.open_setting import OpenSetting
from damping_model.flow.flow_kernel import LOCKED
from damping_model.stack.lift import ELEMENTS, STEP_END, LiftCurve, lift_curve
from damping_model.stack.lift_table import FIRST_TOP, LOWEST, lift_table, lifts_in_table
from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from damping_model.stack.steel import SpringSteel

Floats = NDArray[np.float64]

KNOTS: Final = 12
"""Pressures at which a changed stack is lifted."""

BEYOND: Final = 1.5
"""Knots reach this factor of pressure beyond what the stack feels as it is. [-]"""

KEPT_DEMANDS: Final = 20_000
"""Demands that are kept: a search asks about many stacks at each of its thresholds. [-]"""


class StackResponse:
    """Damping force at fixed velocities as a function of one stack.

    Parameters
    ----------
    damper : with the stack that it has now.
    valve : name of the stack's path.
    velocities : of the shaft, positive in compression. [m/s]
    temperature : of the oil; the damper's own unless given. [K]
    clicks : clicks out of clickers that do not stand where the damper says.
    steel : of the shims.
    knots : number of pressures at which a changed stack is lifted.
    beyond : least and most pressure of those, as shares of the least and the most that the present stack
        feels; wide enough for every changed stack whose force is to be right. [-]
    elements : of the grid that a changed stack is lifted on, as :func:`lift_curve` takes it.
    tolerance : of its Newton steps, likewise.

    Notes
    -----
    The pressures depend on the damper as it is and on nothing else, and between them the lift is
    interpolated so that a stack which lifts less at each of them passes less oil everywhere: its force is
    then lower nowhere (:attr:`keeps_order` has the one exception). That costs no accuracy for the stack as
    it is, and more the further a stack is from it; :meth:`exact_forces` has no such cost.
    """

    def __init__(
        self,
        damper: Damper,
        *,
        valve: str,
        velocities: NDArray[np.float64] | Sequence[float],
        temperature: float | None = None,
        clicks: Mapping[str, int] = NO_CLICKS,
        steel: SpringSteel | None = None,
        knots: int = KNOTS,
        beyond: tuple[float, float] = (1 / BEYOND, BEYOND),
        elements: float = ELEMENTS,
        tolerance: float = STEP_END,
    ) -> None:
        self.damper = damper
        self.velocities = checked_velocities(velocities)
        self.temperature = damper.temperature if temperature is None else temperature
        self.clicks = dict(clicks)
        self.steel = steel or SpringSteel()
        self.path = damper.stack_path(valve)
        self.elements, self.tolerance = elements, tolerance
        self._settings: dict[tuple[tuple[str, int], ...], OpenSetting] = {}
        self._demands: dict[tuple[tuple[tuple[str, int], ...], int, float], Demand | float] = {}
        self.pressures = _knots(self._setting(NO_CLICKS), knots, beyond)
        present = self.packed(self.path.stack)
        self._present = self._lift(present, self.pressures, exact_slope=True)
        self._last = present, self._present

    @property
    def keeps_order(self) -> bool:
        """Whether a stack that lifts less is sure to give no less force: so it is where valves close no loop.

        In a loop a stiffer stack sends more oil another way, and there are networks where that costs less.
        """
        return self._setting(NO_CLICKS).keeps_order

    @property
    def pushed_open(self) -> NDArray[np.bool_]:
        """Velocities at which oil pushes a stack in this place open, in a tree of valves (velocities,)."""
        pushed = np.zeros(self.velocities.size, np.bool_)
        pushed[self._setting(NO_CLICKS).active] = True
        return pushed

    def packed(self, stack: Stack) -> PackedStack:
        """The plates that a stack amounts to in this place."""
        return self.path.packed(stack, steel=self.steel)

    def lift(self, packed: PackedStack, *, start: LiftCurve | None = None) -> LiftCurve:
        """Lift of a stack at the response's pressures.

        Parameters
        ----------
        packed : the stack as plates.
        start : answer for a similar stack to start from; the damper's own unless given.
        """
        return self._lift(packed, self.pressures, start=start or self._present)

    def _lift(
        self,
        packed: PackedStack,
        pressures: Floats,
        *,
        start: LiftCurve | None = None,
        tolerance: float | None = None,
        exact_slope: bool = False,
    ) -> LiftCurve:
        """Lift of a stack in this place."""
        return lift_curve(
            packed,
            seat=self.path.seat,
            load=self.path.face_pressure,
            pressures=pressures,
            start=start,
            elements=self.elements,
            tolerance=self.tolerance if tolerance is None else tolerance,
            exact_slope=exact_slope,
        )

    def forces(
        self, packed: PackedStack, *, clicks: Mapping[str, int] = NO_CLICKS, start: LiftCurve | None = None
    ) -> Floats:
        """Damping force with another stack in place (velocities,). [N]

        Parameters
        ----------
        packed : the stack as plates; any values, also those of no real shims.
        clicks : positions that differ from the response's own.
        start : lift of a similar stack to start from.

        Raises
        ------
        ConvergenceError
            When the stack could not be lifted.
        """
        # a search asks about one stack at many settings: it is lifted once
        asked, lift = self._last
        if asked is not packed or start is not None:
            lift = self.lift(packed, start=start)
            self._last = packed, lift
        return self.forces_at(lift, clicks=clicks)

    def forces_at(self, lift: LiftCurve, *, clicks: Mapping[str, int] = NO_CLICKS) -> Floats:
        """Damping force with a stack of known lift at the response's pressures (velocities,). [N]"""
        setting = self._setting(clicks)
        own = self._present.seat_lift if setting.own else None
        side = setting.side.with_lift(setting.row, self.pressures, lift.seat_lift, own)
        return setting.solved(side)[0]

    def exact_forces(self, packed: PackedStack, *, clicks: Mapping[str, int] = NO_CLICKS) -> Floats:
        """Damping force with another stack, lifted at as many pressures as for a curve (velocities,). [N]

        Some five times the work of :meth:`forces`, for a stack that may be built: what a force curve gives.
        """
        return self._exact(packed, self._setting(clicks))[0]

    def face_pressure(self, packed: PackedStack, *, clicks: Mapping[str, int] = NO_CLICKS) -> float:
        """Largest pressure on the face of another stack at any velocity; 0 where none lifts it. [Pa]"""
        return self._exact(packed, self._setting(clicks))[1]

    def stays_whole(
        self, packed: PackedStack, spans: Sequence[Span], *, clicks: Mapping[str, int] = NO_CLICKS
    ) -> bool:
        """Whether oil boils nowhere in spans of velocity with another stack in place.

        Parameters
        ----------
        packed : the stack as plates.
        spans : slowest and fastest velocity of each, of one sign, within the response's velocities. [m/s]
        clicks : positions that differ from the response's own.
        """
        setting = self._setting(clicks)
        top = max(FIRST_TOP, self._exact(packed, setting)[1])
        table = lift_table(packed, seat=self.path.seat, load=self.path.face_pressure, top=top)
        return stays_whole(setting.changed(setting.side.with_table(setting.row, table)), spans)

    def _exact(self, packed: PackedStack, setting: OpenSetting) -> tuple[Floats, float]:
        """Forces by that part of a stack's lift table which they rest on, and the largest pressure felt."""
        bottom, top = max(self.pressures[0], LOWEST), self.pressures[-1]
        while True:
            table = lift_table(
                packed, seat=self.path.seat, load=self.path.face_pressure, bottom=bottom, top=top
            )
            side = setting.side.with_table(setting.row, table)
            forces, drops = setting.solved(side)
            felt = side.face_pressures(drops)[setting.row]
            felt = felt[felt > 0]
            (least, most), low, high = table.as_whole, felt.min(initial=np.inf), felt.max(initial=0.0)
            if least <= low and (high <= most or top >= LOCKED):
                return forces, float(high)
            bottom = max(min(bottom, low / BEYOND), LOWEST)
            top = min(max(top, high * BEYOND), LOCKED)

    def excesses(
        self,
        packed: PackedStack,
        *,
        places: Sequence[int],
        forces: Sequence[float],
        exactly: bool = False,
        clicks: Mapping[str, int] = NO_CLICKS,
    ) -> Floats:
        """Logarithms of a stack's force over others at some velocities, each from its lift at one pressure.

        The signs are as sure as the lift is; the sizes are estimates, and never beyond
        :data:`damping_model.damper.demand.LARGEST_EXCESS`. The stack is lifted once for all of them, which
        spares more than half. Only where valves close no loop: :attr:`keeps_order`.

        Parameters
        ----------
        packed : the stack as plates; any values, also those of no real shims.
        places : of the velocities.
        forces : at each of them, of the same sign as the velocity, not zero. [N]
        clicks : positions that differ from the response's own.
        exactly : with the signs that :meth:`exact_forces` has, but for rounding, for a tenth of its work:
            lifts are read as a force curve reads them, from the entries of its table around each pressure.

        Raises
        ------
        ConvergenceError
            When the stack could not be lifted.
        """
        demands = [self._demand(clicks, *asked) for asked in zip(places, forces, strict=True)]
        pressures = np.array([one.pressure for one in demands if isinstance(one, Demand)])
        lifts: Iterator[tuple[float, float]] = iter(())
        if pressures.size and exactly:
            lifts = iter(
                lifts_in_table(packed, seat=self.path.seat, load=self.path.face_pressure, pressures=pressures)
            )
        elif pressures.size:
            curve = self._lift(packed, pressures)
            lifts = zip(curve.seat_lift.tolist(), curve.seat_compliance.tolist(), strict=True)
        return np.array([one if isinstance(one, float) else one.excess(*next(lifts)) for one in demands])

    def _demand(self, clicks: Mapping[str, int], place: int, force: float) -> Demand | float:
        """What a stack would have to do for a force; a plain number where every stack gives more, or less."""
        key = (tuple(sorted(clicks.items())), place, force)
        if key not in self._demands:
            if len(self._demands) >= KEPT_DEMANDS:
                self._demands.clear()
            self._demands[key] = self._setting(clicks).demand(place, force)
        return self._demands[key]

    def _setting(self, clicks: Mapping[str, int]) -> OpenSetting:
        key = tuple(sorted(clicks.items()))
        if key not in self._settings:
            ready, drops, flows = solved(
                self.damper,
                velocities=self.velocities,
                temperature=self.temperature,
                clicks=self.clicks | dict(clicks),
                steel=self.steel,
            )
            self._settings[key] = OpenSetting.of(
                ready, drops, flows, name=self.path.name, velocities=self.velocities
            )
        return self._settings[key]


def _knots(setting: OpenSetting, count: int, beyond: tuple[float, float]) -> Floats:
    """Pressures at which changed stacks are lifted: evenly over what the present one feels, and beyond."""
    felt = setting.felt()
    if not felt.size:
        felt = np.array([1e6])
    return np.geomspace(felt.min() * beyond[0], felt.max() * beyond[1], count)
