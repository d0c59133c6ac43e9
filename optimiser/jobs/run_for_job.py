"""The run on a dyno that tells most about what a job is after."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.damper import Damper
from damping_model.damper.force import force_curve
from damping_model.errors import ModelError
from damping_model.stack.stack import Stack
from optimiser.errors import InputError
from optimiser.fit.fit import Fit
from optimiser.fit.next_run import RunAdvice, next_run, possible_runs
from optimiser.fit.posterior import StoppedError
from optimiser.jobs.setup import JobSetup
from optimiser.model.damper_description import DamperDescription
from optimiser.model.goal import Role, Window, mean_change, mean_weights
from optimiser.studies.single_changes import single_changes
from optimiser.unknowns.unknown import RECTANGULAR_END, Distribution
from optimiser.unknowns.varied import varied

Floats = NDArray[np.float64]

LIKELY: Final = 3
"""Single changes that are taken for what the plan may come to: those that bring the target nearest. [-]"""

STEP: Final = 0.5
"""Step of a difference, in standard deviations. [-]"""


def run_for_job(
    typed: DamperDescription,
    fit: Fit,
    setup: JobSetup,
    *,
    should_stop: Callable[[], bool] = lambda: False,
) -> tuple[RunAdvice, str]:
    """The run that tells most about the change of a job's target, and the target's name.

    Parameters
    ----------
    typed : the damper that was fitted, as its file describes it.
    fit : what its runs told so far.
    setup : of the job.
    should_stop : asked before every stack.

    Raises
    ------
    InputError
        When the job is about another damper, or has no target.
    StoppedError
        When somebody asked to stop.
    """
    if setup.job.damper.name != typed.name:
        raise InputError(
            f"{setup.job.path}: got a job about '{setup.job.damper.name}', expected one about "
            f"'{typed.name}', whose runs these are. Name another job."
        )
    targets = [(window, part) for window, part in setup.asked.goal.parts if window.role is Role.TARGET]
    if not targets:
        raise InputError(f"{setup.job.path}: has no target to move, so no run can tell more about it.")
    window, part = targets[0]
    shifts = [
        _by_draws(typed, fit, setup, stack, window) for stack in _nearest(setup, window, part, should_stop)
    ]
    return next_run(typed.damper, fit, shifts=shifts, runs=possible_runs(typed.damper)), window.name


def _nearest(setup: JobSetup, window: Window, part: slice, should_stop: Callable[[], bool]) -> list[Stack]:
    """The single changes whose target comes nearest to what is wanted."""
    wanted = float(mean_change(window, np.array(window.desired)))
    found: list[tuple[float, Stack]] = []
    for stack in single_changes(setup.stack, mounting=setup.mounting, stock=setup.stock):
        if should_stop():
            raise StoppedError
        forces = setup.coarse_forces(stack)[part]
        if np.isfinite(forces).all():
            found.append((abs(float(mean_change(window, forces)) - wanted), stack))
    if not found:
        raise InputError(f"{setup.job.path}: no single change of '{setup.mounted.name}' can be built.")
    return [stack for _, stack in sorted(found, key=lambda both: both[0])[:LIKELY]]


def _by_draws(typed: DamperDescription, fit: Fit, setup: JobSetup, stack: Stack, window: Window) -> Floats:
    """Change of a band's change by the draws (unknowns,). [-]"""
    draws = fit.knowledge.mean
    here = _shift(typed.damper, fit, setup, stack, window, draws)
    found = np.zeros(draws.size)
    for place, unknown in enumerate(fit.knowledge.unknowns):
        rectangular = unknown.distribution is Distribution.RECTANGULAR
        step = -STEP if rectangular and draws[place] + STEP > RECTANGULAR_END else STEP
        moved = draws.copy()
        moved[place] += step
        try:
            found[place] = (_shift(typed.damper, fit, setup, stack, window, moved) - here) / step
        except ModelError:
            continue
    return found


def _shift(damper: Damper, fit: Fit, setup: JobSetup, stack: Stack, window: Window, draws: Floats) -> float:
    """Mean change of a band from one stack to another of a damper as it might be. [-]"""
    name, old = setup.mounted.name, setup.stack
    drawn = varied(damper, dict(zip(fit.knowledge.unknowns, draws.tolist(), strict=True)))
    forces = [
        force_curve(
            drawn.with_stack(name, one, stays=_staying(one, old)),
            velocities=window.velocities,
            temperature=setup.job.work.temperature,
            steel=drawn.steel,
        ).force_against_motion
        for one in (old, stack)
    ]
    return float(np.log(forces[1] / forces[0]) @ mean_weights(window.velocities))


def _staying(stack: Stack, old: Stack) -> Callable[[int], bool]:
    """Whether the shim at a place was in the old stack: as many of a type as there were."""
    left = Counter(old.shims)
    stays = []
    for shim in stack.shims:
        stays.append(left[shim] > 0)
        left[shim] -= 1
    return stays.__getitem__
