"""What makes a stack buildable, one rule a class, each saying in a tuner's words what is wrong."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Protocol

from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE, MILLIMETRE
from optimiser.model.edits import keys_of
from optimiser.model.packs import packs_of
from optimiser.model.rings import ring_packs
from optimiser.model.stock import ShimKey


@dataclass(frozen=True, slots=True)
class Mounting:
    """The place in the damper that a stack is bolted to.

    Parameters
    ----------
    hole_diameter : of the shaft or bolt, and so of every shim but a ring. [m]
    port_outer_radius : how far out the ports reach. [m]
    seat_radius : of the lip that the face shim closes on. [m]
    bore_radius : what every shim must clear. [m]
    clamp_diameter : the circle that the stack bends about. [m]
    most_height : of the stack, so that the nut keeps its thread length. [m]
    overlap : how far the face shim must reach beyond ports and lip. [m]
    least_crossover : diameter that a crossover has at least; 0 for no such rule. [m]
    """

    hole_diameter: float
    port_outer_radius: float
    seat_radius: float
    bore_radius: float
    clamp_diameter: float
    most_height: float
    overlap: float = 0.0
    least_crossover: float = 0.0

    @property
    def least_face_diameter(self) -> float:
        """Least outer diameter of a face shim. [m]"""
        return 2 * (max(self.port_outer_radius, self.seat_radius) + self.overlap)


class Rule(Protocol):
    """One thing that a stack has to keep."""

    def violations(self, stack: Stack, mounting: Mounting) -> tuple[str, ...]:
        """What is wrong, in words a tuner reads; empty when the rule is kept."""
        ...


@dataclass(frozen=True, slots=True)
class NotEmpty:
    """There is a face shim."""

    def violations(self, stack: Stack, mounting: Mounting) -> tuple[str, ...]:  # noqa: ARG002
        """Say so when there are no shims at all."""
        return (
            () if stack.shims else ("The stack has no shims; at least a face shim has to cover the ports.",)
        )


@dataclass(frozen=True, slots=True)
class FaceCoversPorts:
    """The face shim covers the ports and lies on the seat."""

    def violations(self, stack: Stack, mounting: Mounting) -> tuple[str, ...]:
        """Say so when a port is left open."""
        if not stack.shims:
            return ()
        got, least = stack.shims[0].outer_diameter, mounting.least_face_diameter
        if got >= least - MICROMETRE / 2:
            return ()
        return (
            (
                f"The face shim is {_mm(got)} mm wide and leaves the ports open; "
                f"it takes at least {_mm(least)} mm."
            ),
        )


@dataclass(frozen=True, slots=True)
class ClearsBore:
    """No shim touches the bore."""

    def violations(self, stack: Stack, mounting: Mounting) -> tuple[str, ...]:
        """Name the types that are as wide as the bore or wider."""
        most = 2 * mounting.bore_radius
        wide = {key for key in keys_of(stack) if key.outer * MICROMETRE > most - MICROMETRE / 2}
        return tuple(
            f"{key} hits the bore of {_mm(most)} mm; every shim has to be smaller." for key in sorted(wide)
        )


@dataclass(frozen=True, slots=True)
class HoleFitsShaft:
    """Every hole is the shaft's; a ring has its centring shim beside it."""

    def violations(self, stack: Stack, mounting: Mounting) -> tuple[str, ...]:
        """Name the shims whose hole is wrong."""
        hole = round(mounting.hole_diameter / MICROMETRE)
        keys = keys_of(stack)
        wrong = []
        for place, key in enumerate(keys):
            if key.inner == hole:
                continue
            beside = [keys[p] for p in (place - 1, place + 1) if 0 <= p < len(keys)]
            centred = place > 0 and any(k.inner == hole and k.outer <= key.inner for k in beside)
            if not (key.inner > hole and centred):
                wrong.append(
                    f"{key} has a hole of {key.inner / 1000:g} mm and the shaft is {hole / 1000:g} mm; "
                    "only a ring may be wider, behind the face shim and with its centring shim beside it."
                )
        return tuple(dict.fromkeys(wrong))


@dataclass(frozen=True, slots=True)
class RingBears:
    """A preload ring bears on something: a shim wider than its hole before it, and another behind it."""

    def violations(self, stack: Stack, mounting: Mounting) -> tuple[str, ...]:
        """Name the rings that lie loose."""
        hole = round(mounting.hole_diameter / MICROMETRE)
        keys = keys_of(stack)
        wrong = []
        for pack in ring_packs(keys):
            before, behind = keys[: pack.place], keys[pack.place + len(pack.all) :]
            for ring in (*pack.before, *pack.after):
                for side, name in ((before, "before"), (behind, "behind")):
                    if not any(key.inner == hole and key.outer > ring.inner for key in side):
                        wrong.append(
                            f"{ring} is a ring with a hole of {ring.inner / 1000:g} mm, and no shim {name} "
                            "it is wider than that; a ring has to lie between wider shims."
                        )
        return tuple(dict.fromkeys(wrong))


@dataclass(frozen=True, slots=True)
class RingsStay:
    """Every preload ring stays around the pack that centres it, and that pack as it is.

    Another height of the pack is another preload.

    Parameters
    ----------
    packs : each ring with its pack, from the piston outwards.
    """

    packs: tuple[tuple[ShimKey, ...], ...]

    def violations(self, stack: Stack, mounting: Mounting) -> tuple[str, ...]:  # noqa: ARG002
        """Say so when a ring, or what it lies around, is another one."""
        if tuple(pack.all for pack in ring_packs(keys_of(stack))) == self.packs:
            return ()
        return ("A preload ring and the pack that centres it have to stay as they are.",)


@dataclass(frozen=True, slots=True)
class DiametersFall:
    """Diameters fall away from the piston, but behind a crossover.

    Parameters
    ----------
    most_crossovers : how many times they may rise again.
    most_shims : how many shims a crossover may be made of.
    """

    most_crossovers: int = 1
    most_shims: int = 2

    def violations(self, stack: Stack, mounting: Mounting) -> tuple[str, ...]:
        """Say where a bigger shim rests on a smaller one without it being meant."""
        hole = round(mounting.hole_diameter / MICROMETRE)
        packs = packs_of([key for key in keys_of(stack) if key.inner == hole])
        wrong, rises, widest = [], 0, 0
        for before, pack in itertools.pairwise(packs):
            widest = max(widest, before[0].outer)
            if pack[0].outer < before[0].outer:
                continue
            rises += 1
            if len(before) > self.most_shims:
                wrong.append(
                    f"{pack[0]} rests on {len(before)} shims of {before[0].outer / 1000:g} mm; "
                    f"a crossover has at "
                    f"most {self.most_shims}."
                )
            if pack[0].outer > widest:
                wrong.append(f"{pack[0]} is wider than everything between it and the piston.")
        if rises > self.most_crossovers:
            wrong.append(f"The diameters rise again {rises} times; expected {self.most_crossovers} at most.")
        return tuple(wrong)


@dataclass(frozen=True, slots=True)
class CrossoverWideEnough:
    """No spacer of the clamp's side lies among wide shims: what a wider shim rests on is wide enough.

    Parameters
    ----------
    least : diameter of a shim that a wider one rests on. [m]
    """

    least: float

    def violations(self, stack: Stack, mounting: Mounting) -> tuple[str, ...]:
        """Name the narrow shims that lie nearer to the piston than a wider one."""
        hole = round(mounting.hole_diameter / MICROMETRE)
        keys = [key for key in keys_of(stack) if key.inner == hole]
        narrow, widest = set(), 0
        for key in reversed(keys):
            if widest > key.outer and key.outer * MICROMETRE < self.least - MICROMETRE / 2:
                narrow.add(key)
            widest = max(widest, key.outer)
        return tuple(
            f"{key} lies nearer to the piston than wider shims; a crossover is at least {_mm(self.least)} mm "
            "wide, and what is narrower belongs on the clamp's side."
            for key in sorted(narrow)
        )


@dataclass(frozen=True, slots=True)
class HeightFits:
    """The nut keeps its thread length."""

    def violations(self, stack: Stack, mounting: Mounting) -> tuple[str, ...]:
        """Say by how much the stack is too high."""
        got = stack.height
        if got <= mounting.most_height + MICROMETRE / 2:
            return ()
        return (
            (
                f"The stack is {got / MILLIMETRE:.2f} mm high and there is room for "
                f"{mounting.most_height / MILLIMETRE:.2f} "
                f"mm; take out {(got - mounting.most_height) / MILLIMETRE:.2f} mm."
            ),
        )


@dataclass(frozen=True, slots=True)
class ClampShimStays:
    """The shim that the stack bends about stays at its end.

    Parameters
    ----------
    clamp_shim : the last shim of the stack as it is.
    """

    clamp_shim: ShimKey

    def violations(self, stack: Stack, mounting: Mounting) -> tuple[str, ...]:  # noqa: ARG002
        """Say so when it does not lie at the end."""
        keys = keys_of(stack)
        last = itertools.takewhile(
            lambda key: (key.outer, key.inner) == (keys[-1].outer, keys[-1].inner), reversed(keys)
        )
        if self.clamp_shim in last:
            return ()
        return (f"The clamp shim {self.clamp_shim} has to stay at the end of the stack.",)


BY_DIAMETERS: Final = (
    NotEmpty, FaceCoversPorts, ClearsBore, HoleFitsShaft, RingBears, DiametersFall, CrossoverWideEnough
)  # fmt: skip
"""Rules to which thicknesses make no difference, so that a search asks once for shims of the same sizes."""


def rules_for(stack: Stack, mounting: Mounting) -> tuple[Rule, ...]:
    """The rules for every stack that may take the place of this one; its own crossovers are meant."""
    hole = round(mounting.hole_diameter / MICROMETRE)
    packs = packs_of([key for key in keys_of(stack) if key.inner == hole])
    under = [len(one) for one, two in itertools.pairwise(packs) if two[0].outer > one[0].outer]
    rules: list[Rule] = [NotEmpty(), FaceCoversPorts(), ClearsBore(), HoleFitsShaft(), HeightFits()]
    rings = tuple(pack.all for pack in ring_packs(keys_of(stack)))
    rules += [RingBears(), RingsStay(rings)] if rings else [RingBears()]
    rules.append(DiametersFall(max(1, len(under)), max(2, *under) if under else 2))
    if mounting.least_crossover:
        rises = ((one[0].outer, two[0].outer) for one, two in itertools.pairwise(packs))
        meant = [narrow * MICROMETRE for narrow, wide in rises if wide > narrow]
        rules.append(CrossoverWideEnough(min([mounting.least_crossover, *meant])))
    if stack.shims:
        rules.append(ClampShimStays(keys_of(stack)[-1]))
    return tuple(rules)


def violations(rules: Iterable[Rule], stack: Stack, mounting: Mounting) -> tuple[str, ...]:
    """Everything that keeps a stack from being built."""
    return tuple(words for rule in rules for words in rule.violations(stack, mounting))


def _mm(length: float) -> str:
    return f"{length / MILLIMETRE:.4g}"
