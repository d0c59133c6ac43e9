"""What is bolted together: shims from the piston outwards."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Shim:
    """A thin flat disc of spring steel with a hole for the shaft.

    Parameters
    ----------
    outer_diameter : diameter of the rim. [m]
    thickness : height at rest. [m]
    inner_diameter : diameter of the hole. [m]
    """

    outer_diameter: float
    thickness: float
    inner_diameter: float


@dataclass(frozen=True, slots=True)
class Stack:
    """The shims on one face of a piston.

    Parameters
    ----------
    shims : listed from the piston outwards; the first covers the ports.
    """

    shims: tuple[Shim, ...]

    @property
    def height(self) -> float:
        """Height of the stack at rest, rings aside their centring shims left out. [m]"""
        return sum(shim.thickness for shim in self.shims)
