"""Single shims that a micrometer read: none of them goes to two jobs of a day."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from optimiser.allocation.job_options import JobOptions, Readings, Take, sum_of
from optimiser.model.stock import ShimKey

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

    from optimiser.allocation.solver import InTurn


@dataclass(frozen=True, slots=True)
class SingleShims:
    """Who gets which of the shims that were read.

    Parameters
    ----------
    given : for a job, a type and a reading: how many shims that read so it gets.
    """

    given: Sequence[tuple[JobOptions, ShimKey, int, cp_model.IntVar]]

    @property
    def fewest_others(self) -> cp_model.LinearExpr:
        """Small where many jobs get the very shims that their plans name."""
        return sum_of([(count, -1) for _, _, _, count in self.given])

    def of_jobs(self, settled: InTurn) -> dict[str, dict[ShimKey, tuple[int, ...]]]:
        """What each job gets of those."""
        found: dict[str, dict[ShimKey, tuple[int, ...]]] = {}
        if settled.solver is None:
            return found
        for job, key, reading, count in self.given:
            if number := settled.solver.value(count):
                own = found.setdefault(job.name, {})
                own[key] = tuple(sorted((*own.get(key, ()), *(reading,) * number)))
        return found


def no_single_shim_twice(
    model: cp_model.CpModel,
    takes: Sequence[Take],
    shelf: Mapping[ShimKey, int],
    readings: Readings,
    *,
    bought: Mapping[ShimKey, tuple[cp_model.IntVar, int]] | None = None,
) -> SingleShims:
    """No shim that was read is given to two jobs; a plan made with what shims measure gets just those.

    A plan made with nominal sizes names shims that come nearest to it; others of the type do as well.

    Parameters
    ----------
    model : gets the constraints.
    takes : whether each candidate is taken.
    shelf : what is free of each type, read or not.
    readings : of those of them that were read.
    bought : packs of a type that are bought, and pieces in one: they are not read.
    """
    given = []
    of_reading: dict[tuple[ShimKey, int], list[tuple[cp_model.IntVar, int]]] = defaultdict(list)
    not_read: dict[ShimKey, list[tuple[cp_model.IntVar, int]]] = defaultdict(list)
    for job, option, take in takes:
        for key, reading, wanted in _named(option.readings):
            count = model.new_int_var(0, wanted, f"{job.name} {option.rank}: {key} {reading}")
            if option.exact:
                model.add(count == wanted * take)
            else:
                model.add(count <= wanted * take)
            given.append((job, key, reading, count))
            of_reading[key, reading].append((count, 1))
        if option.exact:
            for key, taken in option.taken.items():
                if rest := taken - len(option.readings.get(key, ())):
                    not_read[key].append((take, rest))
    for (key, reading), counts in of_reading.items():
        model.add(sum_of(counts) <= Counter(readings.get(key, ()))[reading])
    for key, terms in not_read.items():
        there = shelf.get(key, 0) - len(readings.get(key, ()))
        packs = [] if bought is None or key not in bought else [bought[key]]
        model.add(sum_of([*terms, *((count, -pieces) for count, pieces in packs)]) <= there)
    return SingleShims(given)


def _named(readings: Readings) -> Iterator[tuple[ShimKey, int, int]]:
    for key, own in readings.items():
        for reading, count in Counter(own).items():
            yield key, reading, count
