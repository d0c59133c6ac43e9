"""One equilibrium of the plates at one pressure: Newton's steps, with contact in each."""

from __future__ import annotations

from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from damping_model.chord import STRETCH, WEDGE, correct_slope, lean_back, refine, solve_free
from damping_model.contact import Contacts, openings_of_points, place_points, spread_forces
from damping_model.laid_plates import Plates, State
from damping_model.plate import assemble, factor, whole_blocks
from damping_model.pressing import FAILED, Work, press, push_through, solve_forces
from damping_model.ties import tie_wedges

Floats = NDArray[np.float64]

MOST_STEPS: Final = 30
"""Newton steps at one pressure before the way to it is halved."""

EARLY_STEPS: Final = 6
"""Newton steps that need not settle which points press."""

EASE: Final = 0.02
"""Newton step, as a share of the lift, after which its factors serve again. [-]"""

SLOPE_END: Final = 1e-2
"""Last correction of the change with pressure, as a share of it; the next would be far smaller. [-]"""

MORE_CORRECTIONS: Final = 2
"""Corrections after the first, which together cost less than new factors."""

FAR_OFF: Final = 0.2
"""A first correction beyond this asks for new factors instead of another. [-]"""

ROUGH: Final = 1e-4
"""Newton step, as a share of the lift, after which its factors are rough for the change with pressure. [-]"""

LENGTH_STEPS: Final = 14
"""Newton steps after which the lengths that rims press over stay as they are."""


@njit(cache=True, nogil=True, error_model="numpy")
def put_loads(p: float, q: Floats, plates: Plates, work: Work, at_rest: bool) -> None:
    """Put the loads out of balance, or with ``at_rest`` the pressure's alone, into ``work.load``."""
    for k in plates.present:
        load = work.load[k]
        for n in range(1, plates.last[k] + 1):
            for i in range(3):
                load[n, i] = 0.0 if at_rest else -work.inner[k, n, i]
            if k == plates.face:
                load[n, 0] += p * plates.load[n, 0]
                load[n, 1] += p * plates.load[n, 1]
        if at_rest and k == plates.face:
            lean_back(plates, q[k], load)


@njit(cache=True, nogil=True, error_model="numpy")
def take_tangent(state: State, plates: Plates, leaning: Floats, contacts: Contacts, work: Work) -> bool:
    """Assemble and factor every plate at the shapes; False where one is not positive definite."""
    last = plates.last
    for k in plates.present:
        stiff = leaning if k == plates.face else plates.stiff[k]
        assemble(
            last[k], state.q[k], plates.stretching[k], plates.stretch, stiff, plates.slope[k],
            work.diagonal[k], work.coupling[k], work.inner[k],
        )  # fmt: skip
    for c in range(state.force.size):
        if state.force[c] > 0:
            n, wide = contacts.ends[c, 2], contacts.ends[c, 3]
            work.diagonal[wide, n, 1, 1] += 2 * contacts.gaps[c, 1] * state.force[c]
    for k in plates.present:
        if not factor(last[k], work.diagonal[k], work.coupling[k], work.pull[k], work.inverse[k]):
            return False
        whole_blocks(last[k], work.pull[k], work.inverse[k], work.whole[k])
    return True


@njit(cache=True, nogil=True, error_model="numpy")
def step_from(
    p: float, state: State, plates: Plates, leaning: Floats, contacts: Contacts, soft: float, tight: float,
    thorough: bool, work: Work,
) -> tuple[int, bool]:  # fmt: skip
    """One step of Newton's from the state, whose shapes stay; see :func:`damping_model.pressing.press`."""
    if not take_tangent(state, plates, leaning, contacts, work):
        return FAILED, False
    put_loads(p, state.q, plates, work, False)
    place_points(state.q, state.length, contacts, plates.angle, work.reach, work.dent, work.begin)
    openings_of_points(state.q, state.length, contacts, work.reach, work.gap)
    tie_wedges(state.force, state.length, contacts, plates.angle, work)
    solve_free(plates, work)
    return press(state.active, state.force, plates.present, plates.last, soft, tight, thorough, work)


@njit(cache=True, nogil=True, error_model="numpy")
def balance(
    p: float, state: State, plates: Plates, contacts: Contacts, soft: float, tight: float, work: Work
) -> tuple[int, int, bool]:
    """Find the equilibrium at pressure p from the guess in ``state``, in place.

    Returns
    -------
    Newton steps taken, negative when it was not found; number of pressing points; whether the last factors
    are rough.
    """
    q, last = state.q, plates.last
    leaning = plates.stiff[plates.face] + p * plates.tilt
    work.flips[:] = 0
    for step in range(1, MOST_STEPS + 1):
        thorough = step > EARLY_STEPS
        count, sound = step_from(p, state, plates, leaning, contacts, soft, tight, thorough, work)
        if count == FAILED or (thorough and not sound):
            return -step, 0, True
        moved, size = 0.0, 0.0
        for k in plates.present:
            for n in range(1, last[k] + 1):
                moved = max(moved, abs(work.d[k, n, 0]))
                for i in range(3):
                    q[k, n, i] += work.d[k, n, i]
                size = max(size, abs(q[k, n, 0]))
        if not np.isfinite(moved):
            return -step, count, True
        found, change = True, 0.0
        if step <= LENGTH_STEPS:
            found, change = spread_forces(
                q, state.force, contacts, plates.angle, state.length, work.flips, WEDGE * tight * size
            )
        if found and sound and moved <= tight * size + 1e-14:
            return step, count, False
        near = sound and moved <= EASE * size and change <= STRETCH
        if near and refine(p, count, moved, state, plates, leaning, contacts, soft, tight, work):
            return step, count, moved > ROUGH * size
    return -MOST_STEPS, 0, True


@njit(cache=True, nogil=True, error_model="numpy")
def keep(source: State, target: State) -> None:
    """Copy one state over another."""
    target.q[:], target.dq[:] = source.q, source.dq
    target.force[:], target.active[:] = source.force, source.active
    target.length[:] = source.length


@njit(cache=True, nogil=True, error_model="numpy")
def find_slope(
    p: float, count: int, rough: bool, state: State, plates: Plates, contacts: Contacts, soft: float,
    tight: float, work: Work,
) -> None:  # fmt: skip
    """Change of the shapes with pressure, from the last pressing points and factors, ``rough`` or not."""
    slope_from(count, state, plates, work)
    if not rough:
        return
    push = work.x[:count].copy()
    share = correct_slope(p, count, state, plates, contacts, soft, push, work)
    for _ in range(MORE_CORRECTIONS):
        if SLOPE_END < share < FAR_OFF:
            share = correct_slope(p, count, state, plates, contacts, soft, push, work)
    if not share <= SLOPE_END:
        leaning = plates.stiff[plates.face] + p * plates.tilt
        count = step_from(p, state, plates, leaning, contacts, soft, tight, True, work)[0]
        slope_from(max(count, 0), state, plates, work)


@njit(cache=True, nogil=True, error_model="numpy")
def slope_from(count: int, state: State, plates: Plates, work: Work) -> None:
    """Change of the shapes with pressure, from the factors that the last step left."""
    put_loads(1.0, state.q, plates, work, True)
    solve_free(plates, work)
    solve_forces(count, False, work)
    push_through(count, plates.present, plates.last, work, state.dq)
