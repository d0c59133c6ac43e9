"""One equilibrium of the plates at one pressure: Newton's steps, with contact in each."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.contact import Contacts, openings_of_points, place_points, spread_forces
from damping_model.plates.element import assemble, factor, whole_blocks
from damping_model.plates.initial_guess import shrink
from damping_model.plates.jit import PART, WRITTEN_IN
from damping_model.plates.modified_newton import (
    STRETCH,
    WEDGE,
    lean,
    put_pressure,
    refine,
    solve_free,
    step_along,
)
from damping_model.plates.pivoting import FAILED, press
from damping_model.plates.plate import Plates, State
from damping_model.plates.sensitivity import better_slope, slope_from
from damping_model.plates.ties import tie_wedges
from damping_model.plates.workspace import Work

Floats = NDArray[np.float64]

MOST_STEPS: Final = 30
"""Newton steps at one pressure before the way to it is halved."""

EARLY_STEPS: Final = 6
"""Newton steps that need not settle which points press."""

EASE: Final = 0.05
"""Newton step, as a share of the lift, after which its factors serve again. [-]"""

ROUGH: Final = 1e-4
"""Newton step, as a share of the lift, after which its factors are rough for the change with pressure. [-]"""

LENGTH_STEPS: Final = 14
"""Newton steps after which the lengths that rims press over stay as they are."""


@PART
def take_tangent(state: State, plates: Plates, contacts: Contacts, work: Work) -> bool:
    """Assemble and factor every plate at the shapes; False where one is not positive definite."""
    last, force, diagonal = plates.last, state.force, work.diagonal
    ends, gaps, present, stretching = contacts.ends, contacts.gaps, plates.present, plates.stretching
    q, stretch, stiff, slope = state.q, plates.stretch, plates.stiff, plates.slope
    coupling, inner, pull, inverse, whole = work.coupling, work.inner, work.pull, work.inverse, work.whole
    for k in present:
        assemble(
            last[k], q[k], stretching[k], stretch, stiff[k], slope[k], diagonal[k], coupling[k], inner[k]
        )
    for c in range(force.size):
        if force[c] > 0:
            n, wide = ends[c, 2], ends[c, 3]
            diagonal[wide, n, 1, 1] += 2 * gaps[c, 1] * force[c]
    for k in present:
        if not factor(last[k], diagonal[k], coupling[k], pull[k], inverse[k]):
            return False
        whole_blocks(last[k], pull[k], inverse[k], whole[k])
    return True


@WRITTEN_IN
def step_from(
    p: float, state: State, plates: Plates, contacts: Contacts, soft: float, tight: float, thorough: bool,
    work: Work,
) -> tuple[int, bool]:  # fmt: skip
    """One step of Newton's from the state, whose shapes stay: :mod:`damping_model.plates.pivoting`."""
    if not take_tangent(state, plates, contacts, work):
        return FAILED, False
    put_pressure(p, plates, work)
    load, inner, last = work.load, work.inner, plates.last
    for k in plates.present:
        for n in range(1, last[k] + 1):
            for i in range(3):
                load[k, n, i] -= inner[k, n, i]
    place_points(state.q, state.length, contacts, plates.angle, work.reach, work.dent, work.begin)
    openings_of_points(state.q, state.length, contacts, work.reach, work.gap)
    tie_wedges(state.force, state.length, contacts, plates.angle, work)
    solve_free(plates, work)
    return press(state.active, state.force, plates.present, plates.last, soft, tight, thorough, work)


@PART
def balance(
    p: float, exact: bool, state: State, plates: Plates, contacts: Contacts, soft: float, tight: float,
    work: Work,
) -> int:  # fmt: skip
    """Find the equilibrium at pressure p and its change with pressure from the guess in ``state``, in place.

    Returns
    -------
    Newton steps taken, negative when it was not found.
    """
    q, last, d, flips, taken = state.q, plates.last, work.d, work.flips, 0
    lean(p, plates)
    for c in range(flips.size):
        flips[c] = 0
    for step in range(1, MOST_STEPS + 2):
        if taken == 0 and step > MOST_STEPS:
            break
        thorough = taken > 0 or step > EARLY_STEPS
        count, sound = step_from(p, state, plates, contacts, soft, tight, thorough, work)
        if taken > 0:
            # the equilibrium stands already: these are new factors for its change with pressure
            slope_from(max(count, 0), state, plates, work)
            return taken
        if count == FAILED or (thorough and not sound):
            return -step
        moved, size = step_along(plates.present, last, d, q)
        if not np.isfinite(moved):
            return -step
        if moved == size and p > 0:  # from flat plates
            size = shrink(plates, q)
        found, change = True, 0.0
        if step <= LENGTH_STEPS:
            found, change = spread_forces(
                q, state.force, contacts, plates.angle, state.length, flips, WEDGE * tight * size
            )
        rough = not (found and sound and moved <= tight * size + 1e-14)
        if rough:
            near = sound and moved <= EASE * size and change <= STRETCH
            if not near or not refine(p, count, moved, state, plates, contacts, soft, tight, work):
                continue
        slope_from(count, state, plates, work)
        enough = not (exact and rough and moved > ROUGH * size)
        if enough or better_slope(count, state, plates, contacts, soft, work):
            return step
        taken = step
    return -MOST_STEPS


@PART
def keep(source: State, target: State) -> None:
    """Copy one state over another."""
    q, dq, force, active, length = target
    q0, dq0, force0, active0, length0 = source
    for k in range(q.shape[0]):
        for n in range(q.shape[1]):
            for i in range(3):
                q[k, n, i], dq[k, n, i] = q0[k, n, i], dq0[k, n, i]
    for c in range(force.size):
        force[c], active[c], length[c] = force0[c], active0[c], length0[c]
