"""A damper with some of its unknown figures drawn again."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import groupby
from typing import Any, Final

import numpy as np

from damping_model.damper.damper import Damper
from damping_model.flow.path_set import FlowPath
from damping_model.flow.paths import Clicker
from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.stack import Shim, Stack
from damping_model.stack.steel import SpringSteel
from optimiser.unknowns.real_thicknesses import with_real_thicknesses
from optimiser.unknowns.unknown import Owner, Unknown, nominal_figure

Draws = Mapping[Unknown, float]
"""Where each unknown stands, in its standard deviations; one that is left out stands at 0. [-]"""

THINNEST: Final = 0.1
"""Share of its nominal thickness that a drawn shim keeps at least. [-]"""

OF_SHIMS: Final = frozenset({Owner.SHIMS_INSIDE, Owner.SHIMS_OF_THE_SHELF})
OF_THE_SEAT: Final = frozenset({"clamp_radius", "seat_radius", "seat_height"})


@dataclass(frozen=True, slots=True, kw_only=True)
class VariedDamper:
    """A damper as it might be.

    Parameters
    ----------
    damper : with its figures as drawn, and its own stacks as they might be.
    steel : of all shims.
    draws : where each unknown stands.
    """

    damper: Damper
    steel: SpringSteel
    draws: Draws

    def with_stack(self, name: str, stack: Stack, *, stays: Callable[[int], bool]) -> Damper:
        """The damper with another stack of nominal shims in one place.

        Parameters
        ----------
        name : of the place.
        stack : from the piston outwards.
        stays : whether the shim at a place of it was in the damper before: it is the same steel as there.
        """
        drawn = _Thicknesses(self.draws)
        each = tuple(
            drawn.of(shim, Owner.SHIMS_INSIDE if stays(place) else Owner.SHIMS_OF_THE_SHELF)
            for place, shim in enumerate(stack.shims)
        )
        shims = _evened(stack.shims, each)
        return _each_path(self.damper, lambda path: _with_shims(path, shims) if path.name == name else path)


def varied(damper: Damper, draws: Draws, *, steel: SpringSteel | None = None) -> VariedDamper:
    """The damper with its unknown figures where the draws put them.

    Parameters
    ----------
    damper : as it is described; the draws say anew how thick its shims really are.
    draws : of its unknowns.
    steel : of the shims, before draws.

    Raises
    ------
    GeometryError
        When a draw is so far out that no such damper can be.
    """
    damper = with_real_thicknesses(damper, ())
    own_steel = steel or SpringSteel()
    for unknown, draw in draws.items():
        if draw == 0 or unknown.owner in OF_SHIMS:
            continue
        if unknown.owner is Owner.STEEL:
            own_steel = _moved(own_steel, unknown, draw)
        elif unknown.owner is Owner.OIL:
            damper = replace(damper, oil=_moved(damper.oil, unknown, draw))
        elif unknown.owner is Owner.DAMPER:
            damper = _moved(damper, unknown, draw)
        else:
            damper = _each_path(damper, partial(_moved_path, unknown=unknown, draw=draw))
    drawn = _Thicknesses(draws)
    if drawn.any:
        damper = _each_path(
            damper,
            lambda path: (
                _with_shims(path, tuple(drawn.of(shim, Owner.SHIMS_INSIDE) for shim in path.stack.shims))
                if isinstance(path, ShimValve)
                else path
            ),
        )
    return VariedDamper(damper=damper, steel=own_steel, draws=draws)


class _Thicknesses:
    """Shims as they might be: one error for each thickness and batch."""

    def __init__(self, draws: Draws) -> None:
        self._moved = {
            (unknown.owner, unknown.figure): (unknown, draw)
            for unknown, draw in draws.items()
            if unknown.owner in OF_SHIMS and draw != 0
        }

    @property
    def any(self) -> bool:
        return bool(self._moved)

    def of(self, shim: Shim, batch: Owner) -> Shim:
        found = self._moved.get((batch, nominal_figure(shim.thickness)))
        if found is None:
            return shim
        unknown, draw = found
        thickness = max(unknown.moved(shim.thickness, draw), THINNEST * shim.thickness)
        return replace(shim, thickness=thickness)


def _evened(nominal: Sequence[Shim], drawn: Sequence[Shim]) -> tuple[Shim, ...]:
    """Neighbours of one nominal type from two batches, each as thick as bends like them together.

    So they stay one plate. A micrometre's difference would part them into plates of their own, which costs
    time and tells nothing: the lift moves by under 0.1 % (tests/optimiser/unknowns/test_varied.py).
    """
    shims: list[Shim] = []
    for _, run in groupby(range(len(nominal)), key=nominal.__getitem__):
        members = [drawn[place] for place in run]
        cubes = math.fsum(shim.thickness**3 for shim in members) / len(members)
        even = all(shim == members[0] for shim in members)
        shims += members if even else [replace(shim, thickness=math.cbrt(cubes)) for shim in members]
    return tuple(shims)


def _moved(value: Any, unknown: Unknown, draw: float) -> Any:
    """A value of the model with one of its figures moved; a figure of several numbers as a whole."""
    if unknown.figure == "swept_area":
        return replace(value, chambers=tuple(_one(chamber, unknown, draw) for chamber in value.chambers))
    if unknown.figure == "viscosity":
        points = tuple((at, unknown.moved(viscosity, draw)) for at, viscosity in value.viscosity_points)
        return replace(value, viscosity_points=points)
    return _one(value, unknown, draw)


def _moved_path(path: FlowPath, *, unknown: Unknown, draw: float) -> FlowPath:
    if path.name != unknown.owner:
        return path
    if isinstance(path, ShimValve) and unknown.figure in OF_THE_SEAT:
        return replace(path, seat=_one(path.seat, unknown, draw))
    if isinstance(path, Clicker) and unknown.figure == "areas":
        return replace(path, areas=tuple(unknown.moved(area, draw) for area in path.areas))
    if isinstance(path, Clicker) and unknown.figure == "needle":
        clicks = np.arange(len(path.areas))
        areas = np.interp(unknown.moved(0.0, draw) + clicks, clicks, path.areas)
        return replace(path, areas=tuple(float(area) for area in areas))
    moved: FlowPath = _one(path, unknown, draw)
    return moved


def _one(value: Any, unknown: Unknown, draw: float) -> Any:
    return replace(value, **{unknown.figure: unknown.moved(getattr(value, unknown.figure), draw)})


def _with_shims(path: FlowPath, shims: tuple[Shim, ...]) -> FlowPath:
    return replace(path, stack=Stack(shims)) if isinstance(path, ShimValve) else path


def _each_path(damper: Damper, change: Callable[[FlowPath], FlowPath]) -> Damper:
    valves = tuple(
        replace(valve, paths=tuple(change(path) for path in valve.paths)) for valve in damper.valves
    )
    return replace(damper, valves=valves)
