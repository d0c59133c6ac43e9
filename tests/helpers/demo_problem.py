"""Problems of the stiff shop as the search sees them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.files.job_reader import read_job
from optimiser.jobs.setup import JobSetup, set_up
from optimiser.search.bounds.order_spread import OrderSpread, order_spread
from optimiser.search.evaluator import Evaluator
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.space.problem_data import problem_data
from optimiser.search.space.shape import Shape
from optimiser.search.tree.roots import shapes
from tests.helpers.paths import STIFF_SHOP

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class DemoProblem:
    """A job of the stiff shop with the shapes that its stack can take within three changes."""

    setup: JobSetup
    shapes: dict[int, tuple[Shape, ...]]
    spread: OrderSpread

    def forces(self, packed: PackedStack, places: Sequence[int]) -> Floats:
        """Forces at some velocities as bounds are worked out: coarse ones, followed until a pressure hits it."""
        forces = self.setup.physics.coarse_forces(packed, self.setup.physics.setting)
        for _ in range(3):
            forces[places] *= np.exp(self.excesses(packed, forces, places))
        return forces

    def excesses(self, packed: PackedStack, forces: Floats, places: Sequence[int]) -> Floats:
        """Logarithms of some plates' forces over others at some velocities, as bounds are worked out."""
        physics = self.setup.physics
        each = (
            physics.excesses(
                packed, physics.setting, places=(place,), forces=(float(forces[place]),), exactly=False
            )
            for place in places
        )
        return np.concatenate([*each])


def load(job: str, *, stack: Stack | None = None) -> DemoProblem:
    """A job of the stiff shop, with another stack in the damper when one is given."""
    described = read_job(STIFF_SHOP / "jobs" / f"{job}.toml")
    if stack is not None:
        assert described.work.stack is not None
        damper = described.damper.with_stack(described.work.stack, stack)
        described = replace(described, damper=damper)
    setup = set_up(described)
    evaluator = Evaluator(setup.physics)
    data = problem_data(setup.problem, evaluator)
    share, setting = GoalMetrics(setup.asked.goal).relative_half_width, setup.physics.setting
    return DemoProblem(
        setup,
        {k: shapes(data, evaluator, k, relative_half_width=share, setting=setting) for k in (1, 2, 3)},
        order_spread(data, evaluator, setting),
    )
