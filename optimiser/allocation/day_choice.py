"""One shelf for the jobs of a day: which candidate each of them gets, so that no shim is reserved twice.

Most jobs served first, those of a lower order before the others; then fewest shims changed, then the
least miss, then the fewest types that become low, then most of the very shims that plans name.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from optimiser.allocation.job_options import (
    JobOption,
    JobOptions,
    Readings,
    Take,
    choices,
    chosen_of,
    sum_of,
    used_of,
)
from optimiser.allocation.single_shims import no_single_shim_twice
from optimiser.allocation.solver import least_in_turn
from optimiser.model.stock import ShimKey

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

SCALE: Final = 1e6
"""Misses are whole multiples of a part in so many of the force. [-]"""

SECONDS: Final = 10.0
"""For each of the objectives; what is not settled by then stands unproven. [s]"""


@dataclass(frozen=True, slots=True)
class DayChoice:
    """What each job gets.

    Parameters
    ----------
    chosen : by job; None for one that the shelf cannot serve beside the others.
    proven : whether no other choice is better in the order above.
    readings : for a job that gets shims which were read: what they measure. [um]
    """

    chosen: Mapping[str, JobOption | None]
    proven: bool
    readings: Mapping[str, Readings] = field(default_factory=dict)

    @property
    def served(self) -> tuple[str, ...]:
        """The jobs that get something."""
        return tuple(name for name, one in self.chosen.items() if one is not None)


def best_day(
    jobs: Sequence[JobOptions],
    shelf: Mapping[ShimKey, int],
    *,
    low_at: Mapping[ShimKey, int] | None = None,
    readings: Readings | None = None,
    seconds: float = SECONDS,
) -> DayChoice:
    """The best choice of one candidate a job.

    Parameters
    ----------
    jobs : of the day, each with a name of its own.
    shelf : what is free.
    low_at : counts at which the shop calls a type low.
    readings : what single shims of what is free measure.
    seconds : for each objective. [s]
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    takes = choices(model, jobs)
    for key, used in used_of(takes).items():
        model.add(sum_of(used) <= shelf.get(key, 0))
    singles = no_single_shim_twice(model, takes, shelf, readings or {})
    objectives = _objectives(model, jobs, takes, shelf, low_at or {})
    settled = least_in_turn(model, (*objectives, singles.fewest_others), seconds=seconds)
    return DayChoice(chosen_of(jobs, takes, settled), settled.proven, singles.of_jobs(settled))


def _objectives(
    model: cp_model.CpModel,
    jobs: Sequence[JobOptions],
    takes: Sequence[Take],
    shelf: Mapping[ShimKey, int],
    low_at: Mapping[ShimKey, int],
) -> list[cp_model.LinearExpr]:
    """What is to be as small as can be, the first first."""
    from ortools.sat.python import cp_model

    every = [take for _, _, take in takes]

    def total(weights: Sequence[int]) -> cp_model.LinearExpr:
        return cp_model.LinearExpr.weighted_sum(every, weights)

    orders = sorted({job.order for job in jobs})
    served = [total([-job.weight if job.order == order else 0 for job, _, _ in takes]) for order in orders]
    changes = total([option.changes for _, option, _ in takes])
    miss = total([math.ceil(SCALE * option.miss) for _, option, _ in takes])
    lows = []
    for key, used in used_of(takes).items():
        if key in low_at and shelf.get(key, 0) > low_at[key]:
            low = model.new_bool_var(f"{key} low")
            left = shelf[key] - low_at[key] - 1
            model.add(sum_of(used) <= left).only_enforce_if(low.negated())
            lows.append(low)
    return [*served, changes, miss, cp_model.LinearExpr.sum(lows)]
