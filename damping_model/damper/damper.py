"""A damper as data: chambers joined by valves, a reservoir under gas, and the oil that goes between."""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from damping_model.errors import GeometryError
from damping_model.flow.checks import not_negative
from damping_model.flow.oil import Oil
from damping_model.flow.path_set import FlowPath
from damping_model.flow.paths import Clicker
from damping_model.flow.shim_valve import ShimValve

NO_CLICKS: Final[Mapping[str, int]] = {}
"""Every clicker where the damper says."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chamber:
    """A space that the shaft makes smaller or larger.

    Parameters
    ----------
    name : of the space.
    swept_area : volume that it loses for each metre of compression; negative if it grows. [m^2]
    """

    name: str
    swept_area: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Valve:
    """Paths side by side between two spaces.

    Parameters
    ----------
    name : of the valve.
    from_chamber, to_chamber : direction 1 of its paths runs from the one to the other.
    paths : the ways through.

    Raises
    ------
    GeometryError
        When it joins a space to itself, or has no paths.
    """

    name: str
    from_chamber: str
    to_chamber: str
    paths: tuple[FlowPath, ...]

    def __post_init__(self) -> None:
        """Refuse a valve that joins nothing."""
        if self.from_chamber == self.to_chamber:
            raise GeometryError(
                f"valve '{self.name}': got '{self.to_chamber}' at both ends, expected two spaces."
            )
        if not self.paths:
            raise GeometryError(f"valve '{self.name}': got no paths, expected at least one.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Damper:
    """Chambers, valves and a reservoir that takes the oil that the chambers lose together.

    Parameters
    ----------
    name : what the tuner calls it.
    chambers : the spaces that the stroke changes.
    reservoir : name of the space under gas.
    gas_pressure : gauge pressure of the gas. [Pa]
    valves : joining chambers and reservoir.
    oil : what fills it.
    temperature : of the oil unless another is asked for. [K]
    friction : drag of seals and bushings, reported apart from damping. [N]
    shaft_section : area of the shaft where it leaves the damper; what the chambers lose together when left
        out, which is the same unless the reservoir is the space under the piston. [m^2]

    Raises
    ------
    GeometryError
        When names are used twice or not at all, or a chamber has no way out.
    """

    name: str
    chambers: tuple[Chamber, ...]
    reservoir: str
    gas_pressure: float
    valves: tuple[Valve, ...]
    oil: Oil
    temperature: float
    friction: float = 0.0
    shaft_section: float | None = None

    def __post_init__(self) -> None:
        """Refuse spaces and valves that do not join up."""
        if not self.chambers:
            raise GeometryError(f"damper '{self.name}': got no chambers, expected at least one.")
        not_negative(self.name, "gas pressure", self.gas_pressure)
        not_negative(self.name, "friction", self.friction)
        if self.shaft_section is not None:
            not_negative(self.name, "shaft section", self.shaft_section)
        for chamber in self.chambers:
            if not math.isfinite(chamber.swept_area):
                raise GeometryError(f"chamber '{chamber.name}': got an area of {chamber.swept_area:g}.")
        self._unique([*self.spaces], "chamber")
        self._unique([valve.name for valve in self.valves], "valve")
        self._unique([path.name for path in self.paths], "path")
        reached = {self.reservoir}
        for _ in self.valves:
            for valve in self.valves:
                ends = {valve.from_chamber, valve.to_chamber}
                if unknown := ends - set(self.spaces):
                    raise GeometryError(
                        f"valve '{valve.name}': got {min(unknown)!r}, expected one of "
                        f"{', '.join(self.spaces)}."
                    )
                if ends & reached:
                    reached |= ends
        if shut := [name for name in self.spaces if name not in reached]:
            raise GeometryError(
                f"damper '{self.name}': no valve joins '{shut[0]}' to the reservoir '{self.reservoir}', so "
                "oil cannot leave it. Add a valve between them."
            )

    def _unique(self, names: list[str], what: str) -> None:
        for name in names:
            if names.count(name) > 1:
                raise GeometryError(
                    f"damper '{self.name}': got {what} {name!r} twice, expected a name of its own for each."
                )

    @property
    def spaces(self) -> tuple[str, ...]:
        """Names of all spaces, the reservoir last."""
        return (*(chamber.name for chamber in self.chambers), self.reservoir)

    @property
    def displaced_area(self) -> float:
        """Volume that goes to the reservoir for each metre of compression: the shaft's section. [m^2]

        Where the reservoir is the space under the piston, no chamber tells it.
        """
        if self.shaft_section is not None:
            return self.shaft_section
        return sum(chamber.swept_area for chamber in self.chambers)

    @property
    def paths(self) -> tuple[FlowPath, ...]:
        """All paths of all valves."""
        return tuple(path for valve in self.valves for path in valve.paths)

    @property
    def stacks(self) -> tuple[ShimValve, ...]:
        """The paths that are shim stacks."""
        return tuple(path for path in self.paths if isinstance(path, ShimValve))

    @property
    def clickers(self) -> tuple[Clicker, ...]:
        """The paths that an adjuster moves."""
        return tuple(path for path in self.paths if isinstance(path, Clicker))

    def stack_path(self, name: str) -> ShimValve:
        """The shim stack of a name.

        Raises
        ------
        GeometryError
            When there is none, with the nearest known name.
        """
        for path in self.stacks:
            if path.name == name:
                return path
        raise GeometryError(_unknown("stack", name, [path.name for path in self.stacks], self.name))

    def clicker(self, name: str) -> Clicker:
        """The adjuster of a name.

        Raises
        ------
        GeometryError
            When there is none, with the nearest known name.
        """
        for path in self.clickers:
            if path.name == name:
                return path
        raise GeometryError(_unknown("clicker", name, [path.name for path in self.clickers], self.name))

    def check_clicks(self, clicks: Mapping[str, int]) -> None:
        """Refuse a setting of a clicker that is not there, or beyond its range.

        Raises
        ------
        GeometryError
            With the nearest known name, or the range.
        """
        for name, position in clicks.items():
            self.clicker(name).area_at(position)


def _unknown(what: str, name: str, known: list[str], damper: str) -> str:
    near = difflib.get_close_matches(name, known, 1)
    hint = f" Did you mean {near[0]!r}?" if near else ""
    return f"damper '{damper}': got {what} {name!r}, expected one of {', '.join(known) or 'none'}.{hint}"
