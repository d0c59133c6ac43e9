"""Compiling the flow's inner loop ahead of the work."""

from __future__ import annotations

import numpy as np

from damping_model.flow.flow_kernel import drops_for_flows, face_pressures, gap_for_flow
from damping_model.flow.lift_kernel import COLUMNS, shifts_of


def warm_up() -> None:
    """Compile, or load what an earlier run compiled, by a flow through one hole and past one plate."""
    plain = np.array([[1e8, 1e12]])
    lifter = np.array([0.0, 0.0, 1e12, 1e-3, 1e3, 1e6, 0.0, 1e5, 1e-9, 1e-3])
    lifters, tables = lifter.reshape(1, COLUMNS), np.ones((1, 2, 2))
    knots = np.zeros((1, 2, 1))
    drops = drops_for_flows(plain, lifters, tables, knots, np.array([1e-5]))
    face_pressures(lifters, tables, knots, drops)
    shifts_of(lifter, tables[0], np.array([10.0]), np.zeros(1))
    gap_for_flow(lifter, 1e-5, 1e6)
