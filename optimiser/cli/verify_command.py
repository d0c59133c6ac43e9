"""``shimwright verify``: the stack model held against a file of reference deflections."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json

if TYPE_CHECKING:
    from damping_model.stack.verification import CaseResult, Verification


@click.command("verify")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--tolerance",
    type=click.FloatRange(min=0, max=100),
    default=1.2,
    show_default=True,
    help="How far a lift may be off, in percent; one micrometre always passes.",
)
@json_option
def command(file: Path, tolerance: float, as_json: bool) -> int:
    """Hold the stack model against every case in FILE and print the error by case and pressure.

    FILE is JSON: finite-element results, or a deflection test of your own on the bench; docs say how it is
    written. The exit code is 1 when any point is past the tolerance.

    Example: shimwright verify my_bench_test.json --tolerance 5
    """
    from damping_model.stack.reference_cases import reference_cases
    from damping_model.stack.verification import verify
    from damping_model.stack.warm_up import is_compiled
    from optimiser.files.base import read_text

    cases = reference_cases(read_text(file, what="reference"), name=str(file))
    if not is_compiled():
        say("First run: compiling the plate model, about half a minute, this once.", err=True)
    result = verify(cases, tolerance=tolerance / 100)
    if as_json:
        say_json(json.dumps(_document(result), indent=2))
    else:
        _print(result)
    return 0 if result.passed else 1


def _document(result: Verification) -> dict[str, Any]:
    return {
        "format": "shimwright verify 1",
        "passed": result.passed,
        "tolerance_percent": round(100 * result.tolerance, 6),
        "median_worst_percent": round(100 * result.median_worst, 4),
        "worst_percent": round(100 * result.worst, 4),
        "cases": [_case(case) for case in result.cases],
    }


def _case(case: CaseResult) -> dict[str, Any]:
    from damping_model.units import MEGAPASCAL, MILLIMETRE

    return {
        "id": case.name,
        "passed": case.passed,
        "worst_percent": round(100 * case.worst, 4),
        "model_s": round(case.model_time, 6),
        "reference_s": case.wall_time,
        "points": [
            {
                "pressure_mpa": round(point.pressure / MEGAPASCAL, 6),
                "reference_mm": round(point.reference / MILLIMETRE, 6),
                "lift_mm": round(point.lift / MILLIMETRE, 6),
                "error_percent": round(100 * point.error, 4),
                "edge_error_percent": None if point.edge_error is None else round(100 * point.edge_error, 4),
                "passed": point.passed,
            }
            for point in case.points
        ],
    }


def _print(result: Verification) -> None:
    from rich.box import SIMPLE_HEAD
    from rich.table import Table
    from rich.text import Text

    from optimiser.report.console import terminal

    table = Table(title="Lift at the seat, model less reference, percent", box=SIMPLE_HEAD, pad_edge=False)
    for name, style in (("Case", "left"), ("By rising pressure", "left"), ("Worst", "right")):
        table.add_column(name, justify=style)  # type: ignore[arg-type]
    table.add_column("Verdict", no_wrap=True)
    for case in result.cases:
        points = "  ".join(f"{100 * point.error:+.2f}" for point in case.points)
        verdict = Text("within") if case.passed else Text("PAST", style="bold")
        table.add_row(case.name, points, f"{100 * case.worst:.2f}", verdict)
    console = terminal()
    console.print(table)
    passed = sum(case.passed for case in result.cases)
    console.print(
        f"{passed} of {len(result.cases)} cases within {100 * result.tolerance:g} % or one micrometre at "
        f"every point; median of the worst points {100 * result.median_worst:.2f} %, "
        f"worst {100 * result.worst:.2f} %."
    )
