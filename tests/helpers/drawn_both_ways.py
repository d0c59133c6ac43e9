"""A job's damper drawn again and again: at once as plans do it, and one by one through the whole model."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from optimiser.jobs.setup import JobSetup
from optimiser.model.goal import Goal
from optimiser.spread.directions import Directions
from optimiser.spread.drawn_forces import Built, DrawnForces
from optimiser.spread.limits import band_limits
from optimiser.unknowns.damper_unknowns import damper_unknowns
from optimiser.unknowns.knowledge import Knowledge
from tests.helpers.whole_model import WholeModel

Floats = NDArray[np.float64]

LEAST_WIDTH = 1e-3
"""An interval that is narrower counts as this wide: a tenth of a point, the last that anyone is shown. [-]"""


class Drawn:
    """A job's damper drawn again and again, both ways."""

    def __init__(self, setup: JobSetup) -> None:
        job, physics = setup.job, setup.physics
        comes = [key.shim.thickness for key in job.stock.counts]
        self.setup = setup
        self.directions = Directions.of(Knowledge.prior(damper_unknowns(job.damper, comes=comes)))
        self.present = Built(setup.stack, physics.setting)
        shared = {
            "stack_name": setup.mounted.name,
            "velocities": setup.asked.goal.velocities,
            "settings": physics.settings,
            "temperature": job.work.temperature,
        }
        self.quick = DrawnForces(job.damper.damper, directions=self.directions, **shared)  # type: ignore[arg-type]
        self.whole = WholeModel(job.damper.damper, **shared)  # type: ignore[arg-type]

    def quick_changes(self, builds: Sequence[Built], steps: Floats) -> Floats:
        """Changes of the logarithm of force as plans count them (draws, builds, velocities)."""
        logs = self.quick.logs(steps, [self.present, *builds])
        return logs[:, 1:] - logs[:, :1]

    def whole_changes(self, builds: Sequence[Built], steps: Floats) -> Floats:
        """The same by the whole model; not a number where no such damper can be."""
        every = [self.present, *builds]
        logs = np.full((steps.shape[0], len(every), self.setup.asked.goal.velocities.size), np.nan)
        for place, row in enumerate(steps):
            try:
                logs[place] = self.whole.forces(self.directions.draws(dict(enumerate(row))), every)
            except ModelError:
                continue
        return logs[:, 1:] - logs[:, :1]

    def both(self, builds: Sequence[Built], draws: int) -> tuple[Floats, Floats]:
        """Both ways on one sample of so many draws."""
        steps = self.directions.sample(draws, np.random.default_rng(7))
        return self.quick_changes(builds, steps), self.whole_changes(builds, steps)


class Apart(NamedTuple):
    """How far two ways of drawing lie apart for one build.

    Parameters
    ----------
    ends : largest distance of an interval's end, as a share of the interval's width. [-]
    chance : of the chances that all limits hold. [-]
    """

    ends: float
    chance: float


def apart(goal: Goal, quick: Floats, whole: Floats) -> list[Apart]:
    """How far both ways lie apart, for each build.

    Parameters
    ----------
    goal : its limits.
    quick, whole : changes of the logarithm of force (draws, builds, velocities).
    """
    limits = band_limits(goal)
    ends = np.zeros(quick.shape[1])
    for one in limits:
        true, own = (np.quantile(one.means(way), [0.025, 0.975], axis=0) for way in (whole, quick))
        width = np.maximum(true[1] - true[0], LEAST_WIDTH)
        ends = np.maximum(ends, (np.abs(own - true) / width).max(axis=0))
    kept = [
        np.all([one.missed_by(way) == 0 for one in limits], axis=0).mean(axis=0) for way in (whole, quick)
    ]
    return [Apart(*pair) for pair in zip(ends.tolist(), np.abs(kept[1] - kept[0]).tolist(), strict=True)]
