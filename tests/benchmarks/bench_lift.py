"""How long a lift curve takes: the stiff shop's stack, the reference cases, and growth with shims and packs.

Run from the top folder: ``python -m tests.benchmarks.bench_lift [--svg docs/model/lift-growth.svg]``. One process, one
core; every figure is a median after warm-up.
"""

from __future__ import annotations

import argparse
import math
import os
import statistics
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from time import perf_counter

import numpy as np

from damping_model.stack.lift import FacePressure, Seat, lift_curve
from damping_model.stack.packs import PackedStack, pack_stack
from damping_model.stack.reference_cases import reference_cases
from damping_model.stack.stack import Shim, Stack
from damping_model.stack.steel import SpringSteel
from damping_model.stack.verification import verify
from damping_model.stack.warm_up import is_compiled, warm_up

TOP = Path(__file__).parents[2]
STEEL = SpringSteel()
SEAT = Seat(4.5e-3, 8.5e-3)
LOAD = FacePressure((5.0e-3, 7.5e-3, 8.5e-3), (1.0, 1.0, 0.0))
TEN = np.geomspace(0.1e6, 6e6, 10)
FOUR = np.array([0.3e6, 0.9e6, 2e6, 5e6])
# The compression stack of the stiff shop's trail shock: two stages, 23 shims on an 8 mm shaft.
TWO_STAGES = (
    (6, 20, 0.10), (1, 12, 0.10), (4, 19, 0.10), (2, 18, 0.10), (2, 17, 0.10), (2, 16, 0.10), (1, 15, 0.15),
    (1, 14, 0.15), (1, 13, 0.15), (1, 12, 0.15), (1, 11, 0.20), (1, 10, 0.20),
)  # fmt: skip


def plates(rows: Sequence[tuple[int, float, float]]) -> PackedStack:
    """Stack of (count, outer diameter in mm, thickness in mm) on an 8 mm shaft."""
    shims = [Shim(od * 1e-3, t * 1e-3, 8e-3) for count, od, t in rows for _ in range(count)]
    return pack_stack(Stack(tuple(shims)), clamp_radius=SEAT.clamp_radius, steel=STEEL)


def milliseconds(run: Callable[[], object], times: int = 200) -> float:
    """Median time of a call. [ms]"""
    run()
    taken = []
    for _ in range(times):
        begin = perf_counter()
        run()
        taken.append(perf_counter() - begin)
    return statistics.median(taken) * 1e3


def demo_stack() -> None:
    """Time the stiff shop's stack: ten pressures cold, four from a neighbour."""
    here = plates(TWO_STAGES)
    print("stiff shop's two-stage stack, 23 shims, 12 packs")
    print(
        f"  10 pressures                          {milliseconds(lambda: lift(here, TEN)):6.2f} ms  (2 asked)"
    )
    print(f"   4 pressures                          {milliseconds(lambda: lift(here, FOUR)):6.2f} ms")
    changes = {
        "one 16x0.10 less": [(n - (od == 16), od, t) for n, od, t in TWO_STAGES],
        "one 19x0.10 less": [(n - (od == 19), od, t) for n, od, t in TWO_STAGES],
        "one 20x0.10 less": [(n - (od == 20), od, t) for n, od, t in TWO_STAGES],
    }
    start = lift_curve(here, seat=SEAT, load=LOAD, pressures=FOUR)
    for name, rows in changes.items():
        neighbour = plates(rows)
        exact, coarse = (
            milliseconds(
                lambda neighbour=neighbour, exact=exact: lift_curve(  # type: ignore[misc]
                    neighbour, seat=SEAT, load=LOAD, pressures=FOUR, start=start, exact_slope=exact
                )
            )
            for exact in (True, False)
        )
        print(
            f"   4 pressures from a neighbour, {name} {exact:6.2f} ms, {coarse:.2f} ms without an exact slope  (0.5 asked)"
        )


def lift(stack: PackedStack, pressures: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> object:
    """One cold lift curve."""
    return lift_curve(stack, seat=SEAT, load=LOAD, pressures=pressures)


def finite_element_cases() -> None:
    """Time every reference case against what its finite elements took."""
    file = TOP / "tests" / "reference" / "fe_cases.json"
    cases = reference_cases(file.read_text(encoding="utf-8"), name=str(file))
    print("\n| case | shims | packs | pressures | worst point | ours, ms | finite elements, s | ratio |")
    print("| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |")
    ratios = []
    for case, result in zip(cases, verify(cases).cases, strict=True):
        stack = pack_stack(case.stack, clamp_radius=case.seat.clamp_radius, steel=case.steel)
        pressures = np.array([point.pressure for point in case.points])
        ours = milliseconds(
            lambda stack=stack, case=case, pressures=pressures: lift_curve(  # type: ignore[misc]
                stack, seat=case.seat, load=case.load, pressures=pressures
            ),
            30,
        )
        ratio = (case.wall_time or 0.0) * 1e3 / ours
        ratios.append(ratio)
        print(
            f"| {case.name} | {len(case.stack.shims)} | {len(stack.packs)} | {len(pressures)} | "
            f"{result.worst * 100:.2f} % | {ours:.2f} | {case.wall_time:.1f} | {ratio:,.0f} |"
        )
    print(
        f"\nmedian ratio {statistics.median(ratios):,.0f}, least {min(ratios):,.0f}, greatest {max(ratios):,.0f}"
    )


def growth() -> tuple[list[tuple[int, float]], list[tuple[int, float]]]:
    """Ten pressures for 6 to 96 shims in twelve packs or fewer, and for 1 to 24 packs."""
    by_shims, by_packs = [], []
    for count in (6, 12, 24, 48, 96):
        diameters = [20 - 0.5 * k for k in range(12)]
        share = [count // 12 + (k < count % 12) for k in range(12)]
        rows = [(n, od, 0.1) for n, od in zip(share, diameters, strict=True) if n]
        by_shims.append((count, milliseconds(lambda rows=rows: lift(plates(rows), TEN), 40)))  # type: ignore[misc]
    for count in (1, 2, 4, 8, 12, 16, 20, 24):
        rows = [(1, 20 - 10 * k / count, 0.15) for k in range(count)]
        stack = plates(rows)
        by_packs.append((count, milliseconds(lambda stack=stack: lift(stack, TEN), 40)))  # type: ignore[misc]
    print("\nten pressures, milliseconds")
    print("  shims in up to 12 packs:", ", ".join(f"{n}: {ms:.2f}" for n, ms in by_shims))
    print("  packs of one shim:      ", ", ".join(f"{n}: {ms:.2f}" for n, ms in by_packs))
    return by_shims, by_packs


def drawing(by_shims: list[tuple[int, float]], by_packs: list[tuple[int, float]]) -> str:
    """Growth as a picture on two logarithmic axes."""
    left, low, wide, high = 60.0, 250.0, 420.0, 220.0

    def x(count: float) -> float:
        return left + wide * math.log(count) / math.log(100)

    def y(ms: float) -> float:
        return low - high * (math.log10(ms) + 1.5) / 3

    parts = [
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 520 300" font-family="sans-serif" font-size="12">',
        '<rect width="520" height="300" fill="white"/>',
    ]
    for count in (1, 2, 5, 10, 20, 50, 100):
        parts.append(f'<path d="M{x(count):.1f} 30V{low}" stroke="#ddd"/>')
        parts.append(f'<text x="{x(count):.1f}" y="268" text-anchor="middle">{count}</text>')
    for ms in (0.1, 1, 10):
        parts.append(f'<path d="M{left} {y(ms):.1f}H{left + wide}" stroke="#ddd"/>')
        parts.append(f'<text x="52" y="{y(ms) + 4:.1f}" text-anchor="end">{ms:g}</text>')
    parts.append('<text x="270" y="290" text-anchor="middle">shims, packs</text>')
    parts.append(
        '<text x="14" y="140" transform="rotate(-90 14 140)" text-anchor="middle">ms, ten pressures</text>'
    )
    for name, colour, rows in (
        ("shims, in up to 12 packs", "#1b6ca8", by_shims),
        ("packs of one shim", "#b5481f", by_packs),
    ):
        line = " ".join(f"{x(n):.1f},{y(ms):.1f}" for n, ms in rows)
        parts.append(f'<polyline points="{line}" fill="none" stroke="{colour}" stroke-width="2"/>')
        parts += [f'<circle cx="{x(n):.1f}" cy="{y(ms):.1f}" r="3.5" fill="{colour}"/>' for n, ms in rows]
        row = 48 if "up to" in name else 66
        parts.append(f'<text x="75" y="{row}" fill="{colour}">{name}</text>')
    return "\n".join([*parts, "</svg>\n"])


def main() -> None:
    """Run all three, and draw the growth if asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--svg", type=Path, help="where to draw the growth")
    asked = parser.parse_args()
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.2f}, Python {sys.version.split()[0]}")
    begin = perf_counter()
    compiled = is_compiled()
    warm_up()
    print(f"first call {perf_counter() - begin:.1f} s ({'from the cache' if compiled else 'compiled'})\n")
    demo_stack()
    finite_element_cases()
    rows = growth()
    if asked.svg:
        asked.svg.write_text(drawing(*rows), encoding="utf-8")


if __name__ == "__main__":
    main()
