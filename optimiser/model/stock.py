"""Shims on the shelf: types that compare exactly, and how many of each there are."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import NamedTuple

from damping_model.stack.stack import Shim
from damping_model.units import MICROMETRE, MILLIMETRE


class ShimKey(NamedTuple):
    """A shim type in whole micrometres, so that equality is exact.

    Parameters
    ----------
    outer : outer diameter. [um]
    thickness : nominal thickness. [um]
    inner : diameter of the hole. [um]
    """

    outer: int
    thickness: int
    inner: int

    @classmethod
    def of(cls, shim: Shim) -> ShimKey:
        """The type that a shim belongs to, to the nearest micrometre."""
        return _key_of(shim)

    @classmethod
    def from_millimetres(cls, *, outer: float, thickness: float, inner: float) -> ShimKey:
        """The type with the dimensions a shop writes down. [mm]"""
        scale = MILLIMETRE / MICROMETRE
        return cls(round(outer * scale), round(thickness * scale), round(inner * scale))

    @property
    def shim(self) -> Shim:
        """The shim that the physics sees."""
        return shim_of(self)

    def __str__(self) -> str:
        """Outer diameter x thickness, as it is written on the drawer. [mm]"""
        decimals = 2 if self.thickness % 10 == 0 else 3
        return f"{self.outer / 1000:g}x{self.thickness / 1000:.{decimals}f}"

    @property
    def with_hole(self) -> str:
        """The type where shafts differ: ``20x0.15, hole 8``. [mm]"""
        return f"{self}, hole {self.inner / 1000:g}"


@cache
def _key_of(shim: Shim) -> ShimKey:
    return ShimKey(
        round(shim.outer_diameter / MICROMETRE),
        round(shim.thickness / MICROMETRE),
        round(shim.inner_diameter / MICROMETRE),
    )


@cache
def shim_of(key: ShimKey) -> Shim:
    """The shim that the physics sees of a type."""
    return Shim(
        outer_diameter=key.outer * MICROMETRE,
        thickness=key.thickness * MICROMETRE,
        inner_diameter=key.inner * MICROMETRE,
    )


@dataclass(frozen=True, slots=True)
class Stock:
    """What is on the shelf, not counting what is in the damper.

    Parameters
    ----------
    counts : how many of each type there are; a type with none may be named or left out.
    drawers : where types lie, in the shop's own words; those that it has no words for are left out.
    readings : what single shims of a type measured by a micrometer, one entry a shim, rising; shims of it
        beyond those are not read. [um]
    nominal : where a type is what single shims measured, the type that their drawer is of.
    """

    counts: Mapping[ShimKey, int] = field(default_factory=lambda: MappingProxyType({}))
    drawers: Mapping[ShimKey, str] = field(default_factory=lambda: MappingProxyType({}), compare=False)
    readings: Mapping[ShimKey, tuple[int, ...]] = field(
        default_factory=lambda: MappingProxyType({}), compare=False
    )
    nominal: Mapping[ShimKey, ShimKey] = field(default_factory=lambda: MappingProxyType({}), compare=False)

    def count(self, key: ShimKey) -> int:
        """How many of a type there are."""
        return self.counts.get(key, 0)

    def in_hand(self) -> Stock:
        """The same shelf by what its shims measured: each reading is a type, and so is what is not read."""
        counts: dict[ShimKey, int] = {}
        drawers: dict[ShimKey, str] = {}
        nominal: dict[ShimKey, ShimKey] = {}
        for key, count in self.counts.items():
            read = self.readings.get(key, ())
            real = Counter(key._replace(thickness=thickness) for thickness in read)
            real[key] += count - len(read)
            for one, number in real.items():
                counts[one] = counts.get(one, 0) + number
                if key in self.drawers:
                    drawers.setdefault(one, self.drawers[key])
                if one != key and one not in self.counts:
                    nominal.setdefault(one, key)
        return Stock(counts, drawers=drawers, nominal=nominal)

    def fitting(self, *, inner: int) -> tuple[ShimKey, ...]:
        """The types in stock with the given hole [um], in order of size."""
        return tuple(sorted(key for key, count in self.counts.items() if count > 0 and key.inner == inner))
