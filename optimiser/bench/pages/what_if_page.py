"""What if: shims typed or dragged in and out of a stack, clicks turned, and the curve's answer at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from damping_model.errors import ModelError
from optimiser.actions.compare_options import stack_name, typed_stack
from optimiser.actions.compare_subject import Subject
from optimiser.bench.bench import Bench
from optimiser.bench.pages.stack_drawings import drawn, drawn_pair
from optimiser.errors import InputError, ShimwrightError
from optimiser.files.stack_text import lines_from_shims
from optimiser.intake.brackets import adjusters_of
from optimiser.jobs.what_if import WhatIf, compare
from optimiser.model.damper_description import MountedStack, with_stack
from optimiser.model.edits import keys_of
from optimiser.model.goal import Role, Window
from optimiser.model.percent import TRUE_MINUS, percent_text
from optimiser.report.band_rows import marks
from optimiser.report.band_table import range_text
from optimiser.report.plain_axes import bands_of
from optimiser.report.plain_changes import changes_svg
from optimiser.report.plain_curves import curves_svg
from optimiser.report.plan_sheet import curve_line
from optimiser.report.steps import hole_of
from optimiser.report.strokes import stroke_of
from optimiser.report.unit_system import UnitSystem

LONGEST_STACK = 3000
"""Letters of a stack that is typed."""


def of_job(bench: Bench, request: Request) -> Response:
    """What if, for a job."""
    name, path = bench.job(request)
    return _show(bench, request, bench.subject(path), home=f"/jobs/{name}", title=name)


def of_damper(bench: Bench, request: Request) -> Response:
    """What if, for a damper without a job."""
    name, path = bench.damper(request)
    stack = request.query_params.get("stack", "")
    return _show(
        bench,
        request,
        bench.subject(path, stack=stack or None),
        home=f"/dampers/{name}",
        title=name,
        stack=stack,
    )


def _show(
    bench: Bench, request: Request, subject: Subject, *, home: str, title: str, stack: str = ""
) -> Response:
    mounted = subject.mounted
    if mounted is None:
        raise InputError(f"{title}: got a damper without a stack, expected one. Nothing can be tried in it.")
    asked = request.query_params
    text = asked.get("try", "")[:LONGEST_STACK].replace("\r\n", "\n")
    adjusters = [
        {"name": one.name, "at": one.at, "most": one.most, "asked": asked.get(f"click {one.name}", "")}
        for one in adjusters_of(subject.described.damper)
    ]
    answer, fault = None, ""
    try:
        tried = _tried(subject, text, asked)
        with bench.computing:
            answer = None if tried is None else _answer(bench, subject, tried)
    except (ShimwrightError, ModelError) as error:
        fault = str(error)
    hole = hole_of(mounted.stack)
    lines = lines_from_shims(keys_of(mounted.stack), hole=hole)
    return bench.page(
        request,
        "what_if_answer.jinja" if asked.get("part") == "answer" else "what_if.jinja",
        home=home,
        title=subject.title,
        stack=stack,
        mounted=mounted,
        text=_typed(text, lines, answer, hole),
        adjusters=adjusters,
        answer=answer,
        now=_now(bench, subject, mounted) if answer is None else None,
        fault=fault,
        lines=lines,
        shelf=_shelf(subject, hole),
    )


def _typed(text: str, lines: Sequence[str], answer: dict[str, Any] | None, hole: int) -> str:
    """The stack that was asked about, whole; what was typed where it could not be read."""
    if answer is not None:
        lines = lines_from_shims(keys_of(answer["stack"]), hole=hole)
    return text if text.strip() and answer is None else "\n".join(lines)


def _shelf(subject: Subject, hole: int) -> list[dict[str, Any]]:
    """Types that are free and fit the shaft."""
    if subject.stock is None:
        return []
    free = subject.stock.counts
    return [
        {"name": str(key), "count": count}
        for key, count in sorted(free.items(), reverse=True)
        if count > 0 and key.inner == hole
    ]


def _tried(subject: Subject, text: str, asked: Any) -> WhatIf | None:
    """The damper as it is asked about; None when nothing is asked."""
    mounted, first = subject.mounted, subject.first
    assert mounted is not None  # noqa: S101 (looked at before)
    damper, clicks, label = first.damper, {}, []
    if text.strip():
        stack = typed_stack(text, mounted, where="stack")
        old, new = keys_of(mounted.stack), keys_of(stack)
        if old != new:
            label.append(stack_name(None, old, new, number=1))
            damper = with_stack(damper, mounted.name, stack)
    for one in adjusters_of(damper):
        typed = asked.get(f"click {one.name}", "").strip()
        if not typed:
            continue
        if not (typed.isascii() and typed.isdecimal() and len(typed) < 5 and int(typed) <= one.most):
            raise InputError(f"{one.name}: got {typed[:20]!r}, expected clicks out, from 0 to {one.most}.")
        if int(typed) != one.at:
            clicks[one.name] = int(typed)
            label.append(f"{one.name} {typed} out")
    return replace(first, label=", ".join(label), damper=damper, clicks=clicks) if label else None


def _now(bench: Bench, subject: Subject, mounted: MountedStack) -> dict[str, Any]:
    """The damper as it is, while nothing is asked."""
    with bench.computing:
        found = compare([subject.first], goal=subject.goal, bands=subject.bands)
    line = curve_line("as it is", found.cases[0].curve)
    return {
        "curves": curves_svg([line], bands_of(found.goal), units=bench.units, name="now"),
        "drawing": drawn(mounted),
    }


def _answer(bench: Bench, subject: Subject, tried: WhatIf) -> dict[str, Any]:
    mounted, stack = subject.mounted, tried.stack
    assert mounted is not None  # noqa: S101 (looked at before)
    assert stack is not None  # noqa: S101 (the subject has one)
    found = compare([subject.first, tried], goal=subject.goal, bands=subject.bands)
    after, units = found.cases[1], bench.units
    lines = [curve_line(case.what.label, case.curve) for case in found.cases]
    return {
        "label": tried.label,
        "stack": stack,
        "drawn": drawn_pair(mounted, stack),
        "faults": subject.faults(tried),
        "minds": subject.minds(tried),
        "height": units.length_text(stack.height),
        "height_change": f"{1000 * (stack.height - mounted.stack.height):+.2f} mm".replace("-", TRUE_MINUS),
        "curves": curves_svg(lines, bands_of(found.goal), units=units, name="what-if"),
        "changes": changes_svg(lines, bands_of(found.goal), units=units, name="what-if-change"),
        "bands": [
            {
                "mark": mark,
                "name": window.name,
                "role": window.role.value,
                "where": f"{stroke_of(window)}, {_span(window, units)}",
                "before": units.force_text(one.before),
                "after": units.force_text(one.after),
                "change": percent_text(one.mean),
                "range": range_text(one.least, one.most),
                "allowed": "" if window.role is Role.SHOWN else range_text(*one.allowed),
                "verdict": "" if window.role is Role.SHOWN else one.verdict.value,
            }
            for mark, window, one in zip(marks(), found.goal.windows, after.bands, strict=False)
        ],
    }


def _span(window: Window, units: UnitSystem) -> str:
    speeds = [abs(velocity) for velocity in window.velocities]
    return units.span_text(min(speeds), max(speeds))


def routes(bench: Bench) -> list[Route]:
    """The addresses of this page."""
    return [
        Route("/jobs/{job}/what-if", lambda request: of_job(bench, request)),
        Route("/dampers/{damper}/what-if", lambda request: of_damper(bench, request)),
    ]
