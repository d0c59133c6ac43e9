"""What one pack may be made of: every choice from the shelf, as plate figures, softest first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations_with_replacement, product

import numpy as np
from numpy.typing import NDArray

from damping_model.packs import Pack
from optimiser.stock import ShimKey

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Reach:
    """Floor and ceiling of a range of choices.

    Parameters
    ----------
    soft, stiff : bending, stretching and shear stiffness at the least and at the most. [N m, N/m, N/m]
    low, high : height. [m]
    least_out, least_in : shims that leave and come in every one of them.
    most_out, most_in : shims that leave and come in the ones with most of them.
    choices : how many there are.
    empty : whether one of them is no shim at all.
    thin, thick : thickness of the shim on the piston's side, at the least and at the most. [m]
    """

    soft: tuple[float, float, float]
    stiff: tuple[float, float, float]
    low: float
    high: float
    least_out: int
    least_in: int
    most_out: int
    most_in: int
    choices: int
    empty: bool
    thin: float
    thick: float


@dataclass(frozen=True, slots=True)
class Menu:
    """Choices for one pack, softest first.

    Parameters
    ----------
    contents : shims of each choice, thickest on the piston's side.
    figures : bending, stretching, shear stiffness, height and first thickness of each (choices, 5).
    outs, ins : shims that leave and that come, against what is there now.
    now : place of what is there now.
    one_more : bending, stretching, shear stiffness and height that one more shim adds at most.
    one_less : bending and stretching stiffness that one shim less takes at most.
    """

    contents: tuple[tuple[ShimKey, ...], ...]
    figures: Floats
    outs: Integers
    ins: Integers
    now: int
    one_more: tuple[float, float, float, float]
    one_less: tuple[float, float]
    _reaches: dict[tuple[int, int, int, int], Reach | None] = field(default_factory=dict)

    def reach(self, start: int, stop: int, most_out: int, most_in: int) -> Reach | None:
        """Floor and ceiling of the choices in a range within the changes left; None when there is none."""
        asked = (start, stop, most_out, most_in)
        if asked not in self._reaches:
            self._reaches[asked] = self._reach(*asked)
        return self._reaches[asked]

    def places(self, start: int, stop: int, most_out: int, most_in: int) -> Integers:
        """Places of the choices in a range that keep within the changes left."""
        fits = (self.outs[start:stop] <= most_out) & (self.ins[start:stop] <= most_in)
        return start + np.flatnonzero(fits)

    def _reach(self, start: int, stop: int, most_out: int, most_in: int) -> Reach | None:
        places = self.places(start, stop, most_out, most_in)
        if places.size == 0:
            return None
        figures = self.figures[places]
        least, most = figures.min(axis=0), figures.max(axis=0)
        return Reach(
            soft=(float(least[0]), float(least[1]), float(least[2])),
            stiff=(float(most[0]), float(most[1]), float(most[2])),
            low=float(least[3]),
            high=float(most[3]),
            least_out=int(self.outs[places].min()),
            least_in=int(self.ins[places].min()),
            most_out=int(self.outs[places].max()),
            most_in=int(self.ins[places].max()),
            choices=int(places.size),
            empty=bool(least[3] == 0.0),
            thin=float(least[4]),
            thick=float(most[4]),
        )


def menu(
    now: Sequence[ShimKey],
    *,
    plates: Mapping[ShimKey, Pack],
    available: Mapping[ShimKey, int],
    most_out: int,
    most_in: int,
) -> Menu:
    """Every choice for a pack within the changes allowed.

    Parameters
    ----------
    now : shims of the pack as it is; none for a pack that is not there.
    plates : each type on its own as a plate; also says which types may be used.
    available : how many of each type there are, on the shelf and in the damper together.
    most_out, most_in : shims that may leave and that may come.
    """
    held = Counter(now)
    leaving = [Counter(dict(zip(held, counts, strict=True)))
               for counts in product(*(range(count + 1) for count in held.values()))
               if sum(counts) <= most_out]  # fmt: skip
    coming = [
        Counter(chosen)
        for size in range(most_in + 1)
        for chosen in combinations_with_replacement(sorted(plates), size)
    ]
    rows: list[tuple[tuple[float, ...], tuple[ShimKey, ...], int, int]] = []
    for out in leaving:
        for put_in in coming:
            if any(out[key] for key in put_in):
                continue
            made = held - out + put_in
            if any(made[key] > available.get(key, 0) for key in put_in):
                continue
            shims = tuple(sorted(made.elements(), key=lambda key: (-key.thickness, key)))
            rows.append((figures_of(shims, plates), shims, out.total(), put_in.total()))
    rows.sort(key=lambda row: (row[0], row[1]))
    as_it_is = next(place for place, row in enumerate(rows) if row[2] == 0 and row[3] == 0)
    return Menu(
        tuple(row[1] for row in rows),
        np.array([row[0] for row in rows], dtype=float),
        np.array([row[2] for row in rows], dtype=np.int64),
        np.array([row[3] for row in rows], dtype=np.int64),
        as_it_is,
        _most(plates.values()),
        _most([plates[key] for key in now])[:2],
    )


def _most(parts: Collection[Pack]) -> tuple[float, float, float, float]:
    return (
        max((part.bending for part in parts), default=0.0),
        max((part.stretching for part in parts), default=0.0),
        max((part.shear for part in parts), default=0.0),
        max((part.height for part in parts), default=0.0),
    )


def figures_of(shims: Sequence[ShimKey], plates: Mapping[ShimKey, Pack]) -> tuple[float, ...]:
    """Bending, stretching, shear stiffness, height and first thickness of shims that move as one plate."""
    parts = [plates[key] for key in shims]
    bending = sum(part.bending for part in parts)
    give = sum(part.bending**2 / part.shear for part in parts if part.bending > 0)
    shear = 0.0 if not parts else bending ** 2 / give if give > 0 else np.inf
    first = parts[0].height if parts else 0.0
    return (bending, sum(p.stretching for p in parts), shear, sum(p.height for p in parts), first)
