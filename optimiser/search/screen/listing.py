"""Members of large shapes as they are listed: by kind of crossover, ruled out by what others have told.

Shapes with the same slots have their kinds in common: see :mod:`optimiser.search.screen.by_crossover`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from optimiser.search.forecast import Against, Forecast
from optimiser.search.screen.figures import Crossovers, ShapeFigures
from optimiser.search.screen.linear_force import LinearForce
from optimiser.search.screen.member_screen import CHECKED, Learnt
from optimiser.search.screen.member_table import MemberTable
from optimiser.search.screen.surrogate_force import SurrogateForce
from optimiser.search.space.family import Family
from optimiser.search.space.shape import Shape
from optimiser.search.tree.best_first import BestFirstTree

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Wait = Callable[[], None]

SMALL: Final = 0
"""Number of all small kinds together. [-]"""

Slots = tuple[int, tuple[tuple[int, int, bool], ...]]
"""Runs of a shape, and of each slot its run, its diameter [um] and whether it has a ring. [-]"""

Kind = tuple[Slots, int]
"""Slots that shapes have in common, and the number of their kind of crossover."""

Part = tuple[int, Sequence[Family]]
"""Number of a shape, and families of it."""


class Through(NamedTuple):
    """What came of going through some members of one shape.

    Parameters
    ----------
    left : of each kind, members that may meet the goal.
    nearest : of each kind, some of those that were ruled out, and the share of the force they miss it by.
    allowed : how many there are that can be built.
    ruled_out : how many of each kind were ruled out.
    """

    left: dict[Kind, MemberTable]
    nearest: dict[Kind, tuple[MemberTable, Floats]]
    allowed: int
    ruled_out: dict[Kind, int]


@dataclass(frozen=True, slots=True)
class CrossoverGroup:
    """Members of one kind that were drawn or ruled out, and asked, and what they have told."""

    table: MemberTable
    learnt: Learnt

    @property
    def told(self) -> tuple[SurrogateForce, LinearForce, Floats]:
        """What predicts the others, and how far coarse forces may be wrong."""
        surrogate, line = self.learnt.surrogate, self.learnt.line
        assert surrogate is not None  # noqa: S101
        assert line is not None  # noqa: S101
        return surrogate, line, self.learnt.error


class Listing:
    """Lists members of large shapes, and rules out those that others have told enough of.

    Parameters
    ----------
    tree : of which they are.
    shapes : that they have.
    against : what their forces are held against.

    Attributes
    ----------
    shapes : the same.
    figures, slots : of each of them.
    """

    def __init__(self, tree: BestFirstTree, shapes: tuple[Shape, ...], against: Against) -> None:
        self.shapes, self._against = shapes, against
        self.figures = [ShapeFigures(one, tree.data, tree.goal) for one in shapes]
        self.slots = [slots_of(one) for one in shapes]

    def inputs(self, table: MemberTable) -> Floats:
        """What the force of members depends on, whatever the shape: see :meth:`ShapeFigures.inputs`."""
        found = None
        for number in np.unique(table.shape_of).tolist():
            rows = np.flatnonzero(table.shape_of == number)
            one = self.figures[number].inputs(table.only(rows))
            if found is None:
                found = np.empty((len(table), one.shape[1]))
            found[rows] = one
        return np.empty((0, 0)) if found is None else found

    def described(self, table: MemberTable) -> tuple[Floats, Crossovers]:
        """What the force of members depends on, and their crossovers, in shapes with the same slots."""
        inputs = self.inputs(table)
        return inputs, self.figures[int(table.shape_of[0])].crossovers(inputs)

    def allowed(self, number: int, table: MemberTable) -> tuple[MemberTable, Floats, Ints]:
        """Members of one shape that may be built, what their force depends on, and kinds of crossover."""
        figures = self.figures[number]
        table = table.only(figures.allowed(table))
        inputs = figures.inputs(table)
        return table, inputs, figures.crossover_codes(inputs)

    def go_through(
        self, part: Part, groups: Mapping[Kind, CrossoverGroup], kinds: Set[Kind], *, again: bool, wait: Wait
    ) -> Through:
        """Rule out members of these kinds as they are listed; small kinds are left as they are."""
        number, families = part
        slots, found = self.slots[number], Through({}, {}, 0, defaultdict(int))
        left: dict[Kind, list[MemberTable]] = defaultdict(list)
        nearest: dict[Kind, list[tuple[MemberTable, Floats]]] = defaultdict(list)
        with threadpool_limits(limits=1):  # matrices are small, and other parts are at work on other cores
            for whole in MemberTable.in_parts(families, number=number, shapes=self.shapes):
                wait()
                table, inputs, crossovers = self.allowed(number, whole)
                found = found._replace(allowed=found.allowed + len(table))
                for crossover, rows in alike(crossovers):
                    kind = slots, crossover
                    if kind not in groups:
                        if not again:
                            left[slots, SMALL].append(table.only(rows))
                    elif kind in kinds:
                        beyond = self._beyond(groups[kind], inputs[rows])
                        left[kind].append(table.only(rows[beyond < 0]))
                        out, beyond = rows[beyond >= 0], beyond[beyond >= 0]
                        found.ruled_out[kind] += len(out)
                        just = np.argsort(beyond, kind="stable")[:CHECKED]
                        nearest[kind].append((table.only(out[just]), beyond[just]))
        return found._replace(
            left={kind: MemberTable.joined(tables).bare for kind, tables in left.items()},
            nearest={kind: nearest_of(tables, CHECKED) for kind, tables in nearest.items()},
        )

    def _beyond(self, group: CrossoverGroup, inputs: Floats) -> Floats:
        """Share of the force by which members of a group surely miss the goal; below 0 where they may not."""
        surrogate, line, error = group.told
        beyond = self._missed_by(line.predict(inputs), error)
        rest = np.flatnonzero(beyond < 0)
        if len(rest):
            known = surrogate.predict(inputs[rest], np.zeros(len(rest), np.intp))
            beyond[rest] = self._missed_by(known, error)
        return np.where(surrogate.covers(inputs), beyond, -1.0)

    def _missed_by(self, known: Forecast, error: Floats) -> Floats:
        return self._against.beyond(Forecast(known.logs, known.margins + error))


def slots_of(shape: Shape) -> Slots:
    """What shapes have in common that are gone through together."""
    return shape.runs, tuple((slot.run, slot.outer, slot.has_ring) for slot in shape.slots)


def size_of(families: Sequence[Family]) -> int:
    """No more members than this."""
    return sum(one.most_members for one in families)


def alike(crossovers: Ints) -> Iterator[tuple[int, NDArray[np.intp]]]:
    """Each kind of crossover, and which members have it."""
    order = np.argsort(crossovers, kind="stable")
    ends = np.flatnonzero(np.diff(crossovers[order])) + 1
    for rows in np.split(order, ends) if len(order) else ():
        yield int(crossovers[rows[0]]), rows


def nearest_of(tables: Sequence[tuple[MemberTable, Floats]], count: int) -> tuple[MemberTable, Floats]:
    """Of members that were ruled out so many that miss the goal by least, and by how much."""
    beyond = np.concatenate([share for _, share in tables])
    nearest = np.argsort(beyond, kind="stable")[:count]
    return MemberTable.joined([one for one, _ in tables]).only(nearest).bare, beyond[nearest]


def parts_of(families: Sequence[Sequence[Family]], size: int) -> list[Part]:
    """Families of one shape each, about so many members in each part, the largest first."""
    parts: list[Part] = []
    for number, same in enumerate(families):
        some: list[Family] = []
        for one in same:
            if some and size_of(some) + one.most_members > size:
                parts.append((number, some))
                some = []
            some.append(one)
        parts.append((number, some))
    return sorted(parts, key=lambda part: -size_of(part[1]))
