"""Whether another stack of the damper has more say in a band than the one that may change."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from damping_model.damper.force import force_curve
from damping_model.stack.steel import SpringSteel
from optimiser.jobs.setup import JobSetup
from optimiser.model.goal import Role


@dataclass(frozen=True, slots=True)
class MoreSay:
    """A stack whose valve makes more of a band's force than that of the stack which may change.

    Parameters
    ----------
    band : the target.
    stack : the other one.
    share, own_share : of the force in the middle of the band, of the other's valve and of its own. [-]
    """

    band: str
    stack: str
    share: float
    own_share: float


def stacks_with_more_say(setup: JobSetup) -> tuple[MoreSay, ...]:
    """For each target the stack with most say in it, where that is another than the one that may change."""
    damper, job = setup.job.damper.damper, setup.job
    valves = {path.name: valve.name for valve in damper.valves for path in valve.paths}
    found = []
    for window in setup.asked.goal.windows:
        if window.role is not Role.TARGET:
            continue
        middle = window.velocities[len(window.velocities) // 2]
        curve = force_curve(
            damper, velocities=np.array([middle]), temperature=job.work.temperature, steel=SpringSteel()
        )
        shares = dict(zip(curve.valves, curve.shares[:, 0] / curve.shares[:, 0].sum(), strict=True))
        flows = dict(zip(curve.paths, curve.path_flows[:, 0], strict=True))
        at_work = {
            stack.name: float(shares[valves[stack.name]])
            for stack in job.damper.stacks
            if flows[stack.name] != 0 or stack.name == setup.mounted.name
        }
        own = at_work[setup.mounted.name] if flows[setup.mounted.name] != 0 else 0.0
        most = max(at_work, key=lambda name: at_work[name])
        if most != setup.mounted.name and at_work[most] > own:
            found.append(MoreSay(window.name, most, at_work[most], own))
    return tuple(found)
