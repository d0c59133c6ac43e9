"""Forces of a damper with several of its stacks changed, from those with each of them changed alone.

In a tree of valves areas and velocity alone decide the flow between two spaces, equation (31), so the
pressure drop there depends on the paths there and on nothing else. The force is a sum over the pairs of
spaces, equation (32). So stacks that lie between other spaces, or open the other way, each add their own
change to the force. Stacks side by side that open the same way share one flow and are coupled, and in a ring
of valves all are.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.damper import Damper
from damping_model.flow.shim_valve import ShimValve

Floats = NDArray[np.float64]


def closes_a_ring(damper: Damper) -> bool:
    """Whether oil can go round a ring of valves, so that a stack has a say in the flow of every other."""
    return len({frozenset((valve.from_chamber, valve.to_chamber)) for valve in damper.valves}) != len(
        damper.chambers
    )


def coupled_stacks(damper: Damper) -> tuple[tuple[str, ...], ...]:
    """Names of the stacks in groups: forces of different groups add, those of one group do not.

    A stack with no other beside it is a group of its own. In a ring of valves there is one group.
    """
    if closes_a_ring(damper):
        names = tuple(path.name for path in damper.stacks)
        return (names,) if names else ()
    groups: dict[tuple[frozenset[str], str], list[str]] = {}
    for valve in damper.valves:
        ends = frozenset((valve.from_chamber, valve.to_chamber))
        for path in valve.paths:
            if isinstance(path, ShimValve):
                towards = valve.to_chamber if path.direction > 0 else valve.from_chamber
                groups.setdefault((ends, towards), []).append(path.name)
    return tuple(map(tuple, groups.values()))


def summed(before: Floats, alone: Sequence[Floats]) -> Floats:
    """Force with several stacks changed (velocities,). [N]

    Parameters
    ----------
    before : with none of them changed (velocities,). [N]
    alone : with each of them changed alone, no two of one group (velocities,). [N]
    """
    changes: Floats = np.zeros_like(before)
    for one in alone:
        changes = changes + (one - before)
    return np.asarray(before + changes)
