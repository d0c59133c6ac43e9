"""Dampers of the demo shop laid out as the search sees them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.packs import PackedStack
from optimiser.files.job_reader import read_job
from optimiser.jobs.setup import Bench, basics_of, bench_for, open_section
from optimiser.model.rules import rules_for
from optimiser.search.evaluator import Runs
from optimiser.search.objective import Judge
from optimiser.search.space.problem_data import workshop
from optimiser.search.space.shape import Shape
from optimiser.search.tree.roots import shapes

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Laid:
    """A demo job with the shapes that its stack can take within three changes."""

    bench: Bench
    shapes: dict[int, tuple[Shape, ...]]

    def forces(self, packed: PackedStack, places: Sequence[int]) -> Floats:
        """Forces at some velocities as bounds are worked out: a guess, followed until a pressure hits it."""
        forces = self.bench.physics.estimate(packed, self.bench.physics.setting)
        for _ in range(3):
            forces[places] *= np.exp(self.excesses(packed, forces, places))
        return forces

    def excesses(self, packed: PackedStack, forces: Floats, places: Sequence[int]) -> Floats:
        """Logarithms of some plates' forces over others at some velocities, as bounds are worked out."""
        physics = self.bench.physics
        return np.array(
            [
                physics.excess(packed, physics.setting, place=place, force=float(forces[place]))
                for place in places
            ]
        )


def laid(job: str) -> Laid:
    loaded = read_job(Path(str(files("inventory_demo"))) / "jobs" / f"{job}.toml")
    bench = bench_for(loaded, section=open_section(loaded), gate=basics_of(loaded))
    runs = Runs(bench.physics)
    shop = workshop(
        runs,
        stack=bench.stack,
        mounting=bench.mounting,
        stock=bench.stock,
        rules=rules_for(bench.stack, bench.mounting),
    )
    share, setting = Judge(bench.asked.goal).share, bench.physics.setting
    return Laid(bench, {k: shapes(shop, runs, k, half=share, setting=setting) for k in (1, 2, 3)})
