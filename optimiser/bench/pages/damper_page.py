"""The dampers: what is in each, its curve with what a dyno measured, and what was built in it."""

from __future__ import annotations

from typing import Any

import numpy as np
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from damping_model.errors import ModelError
from optimiser.actions.lift_at_speed import lift_at_speed
from optimiser.bench.bench import Bench
from optimiser.bench.pages.share_drawings import share_drawings
from optimiser.bench.pages.stack_drawings import drawn
from optimiser.errors import InputError, ShimwrightError
from optimiser.files.damper_builder import read_damper
from optimiser.files.fitted_runs import fitted_runs
from optimiser.files.stack_text import lines_from_shims
from optimiser.intake.brackets import adjusters_of
from optimiser.jobs.what_if import FASTEST, POINTS, SLOWEST, WhatIf
from optimiser.ledger.damper_history import StackInDamper, history_of
from optimiser.ledger.present_stacks import how_it_came
from optimiser.model.damper_description import DamperDescription
from optimiser.model.edits import keys_of
from optimiser.model.fitted import fitted_words
from optimiser.model.percent import share_text
from optimiser.model.unmeasured import unmeasured_words
from optimiser.report.lifted_shape import lifted_shape_svg
from optimiser.report.measured_points import measured_points
from optimiser.report.plain_curves import curves_svg
from optimiser.report.plan_sheet import curve_line
from optimiser.report.steps import hole_of

SHARE_SPEEDS = (0.1, 0.5, 1.0)
"""At which the share of each valve is told. [m/s]"""

MOST_SPEED = 5.0
"""Of the shaft, at which a stack is shown lifted. [m/s]"""


def listed(bench: Bench, request: Request) -> Response:
    """The page of all dampers."""
    return bench.page(request, "dampers.jinja", rows=bench.kept(("dampers",), lambda: _rows(bench)))


def _rows(bench: Bench) -> list[dict[str, str]]:
    rows = []
    for name, path in bench.dampers().items():
        try:
            described = read_damper(path)
        except (ShimwrightError, ModelError) as error:
            rows.append({"name": name, "called": name, "stacks": "", "fault": str(error)})
        else:
            names = ", ".join(mounted.name for mounted in described.stacks)
            rows.append({"name": name, "called": described.name, "stacks": names, "fault": ""})
    return rows


def show(bench: Bench, request: Request) -> Response:
    """The page of one damper."""
    name, path = bench.damper(request)
    described, speed = read_damper(path), _speed(request)
    built: tuple[StackInDamper, ...] = ()
    if bench.has_ledger:
        with bench.looking() as ledger:
            built = history_of(ledger, described.name)
    return bench.page(
        request,
        "damper.jinja",
        name=name,
        described=described,
        speed=speed,
        stacks=[
            {
                "name": mounted.name,
                "drawing": drawn(mounted),
                "lifted": _lifted(bench, described, mounted.name, speed),
                "faults": mounted.faults,
                "lines": lines_from_shims(keys_of(mounted.stack), hole=hole_of(mounted.stack)),
            }
            for mounted in described.stacks
        ],
        adjusters=adjusters_of(described.damper),
        oddities=described.oddities,
        fitted="" if described.fitted is None else fitted_words(described.fitted, path.name),
        not_measured=unmeasured_words(described.not_measured) if described.not_measured else "",
        curves=_curves(bench, described),
        shares=_shares(bench, described),
        share_curves=share_drawings(bench, described.damper, name="shares"),
        measured=bool(fitted_runs(described)),
        built=[(one, how_it_came(one.state), _lines(one)) for one in reversed(built)],
    )


def _lines(one: StackInDamper) -> list[str]:
    hole = min((key.inner for key in one.state.stack), default=0)
    return lines_from_shims(one.state.stack, hole=hole)


def _shares(bench: Bench, described: DamperDescription) -> dict[str, Any]:
    """Which part of the force each valve makes, at a few speeds of both strokes."""
    velocities = np.array([sign * speed for sign in (1.0, -1.0) for speed in SHARE_SPEEDS])
    with bench.computing:
        curve = WhatIf(label="as it is", damper=described.damper).curve(velocities)
    parts = curve.shares / np.where(curve.damping_force == 0, np.inf, curve.damping_force)
    return {
        "heads": [f"{'in' if one > 0 else 'out'} {bench.units.velocity_text(one)}" for one in velocities],
        "rows": [
            (name, [share_text(float(one)) for one in row])
            for name, row in zip(curve.valves, parts, strict=True)
        ],
    }


def _speed(request: Request) -> float:
    """The speed of the shaft at which the stacks are shown lifted. [m/s]"""
    text = request.query_params.get("at", "1").strip().replace(",", ".")
    try:
        speed = float(text)
    except ValueError:
        speed = 0.0
    if not SLOWEST <= speed <= MOST_SPEED:
        raise InputError(f"at: got {text[:20]!r}, expected a speed from {SLOWEST} to {MOST_SPEED:g} m/s.")
    return speed


def _lifted(bench: Bench, described: DamperDescription, stack: str, speed: float) -> Any:
    """A stack lifted, drawn; None where no oil lifts it."""
    with bench.computing:
        lifted = lift_at_speed(described.damper, stack, speed=speed)
    if lifted is None:
        return None
    name = "lifted-" + "".join(letter if letter.isalnum() else "-" for letter in stack)
    return lifted_shape_svg(lifted, speed=speed, units=bench.units, name=name)


def _curves(bench: Bench, described: DamperDescription) -> Any:
    """Its force curve, with what a dyno measured where its figures come from one."""
    speeds = np.geomspace(SLOWEST, FASTEST, POINTS)
    velocities = np.concatenate([-speeds[::-1], speeds])
    what = WhatIf(label="as it is", damper=described.damper)
    with bench.computing:
        line = curve_line("as it is", what.curve(velocities))
    points = measured_points(fitted_runs(described))
    return curves_svg([line], (), units=bench.units, name="damper", measured=points)


def routes(bench: Bench) -> list[Route]:
    """The addresses of the dampers."""
    return [
        Route("/dampers", lambda request: listed(bench, request)),
        Route("/dampers/{damper}", lambda request: show(bench, request)),
    ]
