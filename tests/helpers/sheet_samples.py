"""Invented sheets: few shims, two dozen, long and hostile names, clickers only, out of reach."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np

from damping_model.stack.stack import Stack
from damping_model.vehicle.spring import CoilSpring
from optimiser.model.answer import Answer, Candidate, Change, Effort, Status
from optimiser.model.assembly import NOTHING_WRITTEN, Assembly
from optimiser.model.goal import Goal, Role, Window
from optimiser.model.stock import ShimKey
from optimiser.report.service_facts import ServiceFacts
from optimiser.report.sheet import AdjusterMove, BuildSheet, CurveLine, Heading, build_sheet
from optimiser.report.stack_to_build import Seating

HOSTILE = "</title><script>alert('x')</script> & \"quotes\" <b>bold</b> {{ 7 * 7 }} $x_1$"
LONG = "Wilhelmina-Theodora von Hinterobersteinbach-Untermoosgrabenfeld the Younger of Over-the-Water"

SEATING = Seating(
    bore_radius=13.5e-3,
    seat_radius=9.0e-3,
    port_inner_radius=5.5e-3,
    port_outer_radius=8.0e-3,
    clamp_radius=4.5e-3,
)


SERVICE = ServiceFacts(
    number="2026-118",
    works_in="compression",
    shaft_stroke=55e-3,
    oil="light damper oil",
    viscosity=14.6e-6,
    temperature=313.15,
    gas_charged=True,
    gas_in_model=25e5,
    assembly=Assembly(serial="T55-00417", nut_torque=6.5, oil_level=0.012, gas_charge=17e5),
    room=4.2e-3,
    corner="rear",
    travel=0.14,
    sag=0.039,
    usual=0.035,
    spring=CoilSpring(stiffness=85e3, preload=2e-3),
)
BLANK = replace(
    SERVICE, assembly=NOTHING_WRITTEN, corner=None, travel=None, sag=None, usual=None, spring=None
)


def key(outer: float, thickness: float, inner: float = 8.0) -> ShimKey:
    return ShimKey.from_millimetres(outer=outer, thickness=thickness, inner=inner)


def stack(*sizes: tuple[float, float] | tuple[float, float, float]) -> Stack:
    return Stack(tuple(key(*size).shim for size in sizes))


FEW = stack((20, 0.2), (20, 0.2), (20, 0.2), (17, 0.2), (14, 0.2), (11, 0.25), (9, 0.3))
MANY_SIZES = (
    *[(20, 0.15)] * 5, (12, 0.10), *[(19, 0.15)] * 4, (18, 0.15), (18, 0.10), (17, 0.15), (17, 0.15), (16, 0.15),
    (16, 0.10), (15, 0.15), (14, 0.15), (13, 0.15), (12, 0.15), (11, 0.20), (10, 0.20), (10, 0.15), (9, 0.30),
)  # fmt: skip
MANY = stack(*MANY_SIZES)


def swapped(old: Stack, place: int, new: ShimKey) -> tuple[Stack, Change]:
    """A stack with one shim in another's place."""
    shims = list(old.shims)
    out = ShimKey.of(shims[place])
    shims[place] = new.shim
    return Stack(tuple(shims)), Change(out=out, put_in=new, out_after=place, in_after=place)


def law(velocity: float, factor: float = 1.0) -> float:
    """A made-up damper: what matters is that it looks like one."""
    speed = abs(velocity)
    return float(factor * (90 * np.sqrt(speed) + (420 if velocity > 0 else 640) * speed))


def after_law(velocity: float) -> float:
    """The made-up damper with more low-speed compression."""
    more = 1 + 0.085 * np.exp(-((velocity / 0.16) ** 2)) if velocity > 0 else 1.0
    return law(velocity, float(more))


def window(name: str, role: Role, low: float, high: float, *, shift: float, tolerance: float) -> Window:
    velocities = tuple(float(v) for v in np.sign(high) * np.geomspace(abs(low), abs(high), 5))
    before = tuple(law(v) for v in velocities)
    return Window(
        name=name,
        role=role,
        velocities=velocities,
        before=before,
        lower=tuple(f * (1 + shift - tolerance) for f in before),
        desired=tuple(f * (1 + shift) for f in before),
        upper=tuple(f * (1 + shift + tolerance) for f in before),
    )


def goal(name: str = "low-speed support") -> Goal:
    return Goal(
        windows=(
            window(name, Role.TARGET, 0.02, 0.10, shift=0.08, tolerance=0.03),
            window("mid compression", Role.HOLD, 0.4, 0.6, shift=0, tolerance=0.02),
            window("high compression", Role.HOLD, 0.8, 2.0, shift=0, tolerance=0.02),
            window("rebound", Role.HOLD, -0.05, -1.5, shift=0, tolerance=0.02),
        ),
        least_height=1.0e-3,
        most_height=4.2e-3,
    )


def lines() -> tuple[CurveLine, CurveLine]:
    velocities = tuple(
        float(v) for v in np.concatenate([-np.geomspace(2, 0.01, 40), [0], np.geomspace(0.01, 2, 40)])
    )
    return (
        CurveLine("before", velocities, tuple(map(law, velocities))),
        CurveLine("after", velocities, tuple(map(after_law, velocities)), promised_to=1.7),
    )


def heading(
    name: str, *, complaint: str = "Drops into the corner on the brakes, then blows through."
) -> Heading:
    return Heading(
        title=name,
        shop="Copper Lane Suspension",
        rider="Ada Fennimore",
        bike="Rookery Trail 140",
        damper="Dunnock 55 shock",
        valve="main piston, compression",
        complaint=complaint,
        day=date(2026, 3, 14),
    )


def candidate(new: Stack, *changes: Change, forces: tuple[float, ...]) -> Candidate:
    return Candidate(
        stack=new, setting=0, changes=changes, forces=forces, misfit=0.0, target_error=0.011, change_elsewhere=0.013,
        scarcity=0.25, best_at=("fewest changes",),
    )  # fmt: skip


def answer(
    *found: Candidate,
    nearest: Candidate | None = None,
    status: Status = Status.PROVEN_LEAST,
    too_few: int = 1,
) -> Answer:
    return Answer(
        status=status, candidates=found, proven_too_few=too_few, most_changes=3, nearest=nearest, nearest_proven=True,
        effort=Effort(evaluations=412, families=96, stacks=18_240),
    )  # fmt: skip


def _sheet(head: Heading, result: Answer, chosen: Candidate, old: Stack, **rest: object) -> BuildSheet:
    fields: dict[str, object] = {
        "seating": SEATING,
        "adjusters": (AdjusterMove("compression", 8, 8, 18), AdjusterMove("rebound", 6, 6, 16)),
        "curves": lines(),
        "goal": goal(),
        "basis": (
            "A model of plates in contact under oil pressure, checked against published plate tables.",
            "Oil at 40 °C; discharge coefficients from the damper file, not measured on this damper.",
        ),
        "gas_charged": True,
        "service": SERVICE,
    }
    return build_sheet(heading=head, answer=result, candidate=chosen, old_stack=old, **(fields | rest))  # type: ignore[arg-type]


def forces(law_after: object = after_law, target: Goal | None = None) -> tuple[float, ...]:
    return tuple(law_after(v) for v in (target or goal()).velocities)  # type: ignore[operator]


def few_shims() -> BuildSheet:
    """Seven shims, one swapped."""
    new, change = swapped(FEW, 3, key(17, 0.25))
    chosen = candidate(new, change, forces=forces())
    return _sheet(heading("More support on the brakes"), answer(chosen, too_few=0), chosen, FEW)


def many_shims() -> BuildSheet:
    """Two dozen shims, one swapped, one out, one in, a preload ring among them, and a reason to pass the gate."""
    shims = list(MANY.shims)
    removed = shims.pop(13)
    shims[16] = key(15, 0.20).shim if len(shims) > 16 else shims[16]
    added = key(10, 0.10)
    shims.insert(21, added.shim)
    changes = (
        Change(ShimKey.of(removed), None, 13, None),
        Change(ShimKey.of(MANY.shims[17]), key(15, 0.20), 17, 16),
        Change(None, added, None, 21),
    )
    chosen = candidate(Stack(tuple(shims)), *changes, forces=forces())
    return _sheet(
        heading("Two dozen"),
        answer(chosen, too_few=2),
        chosen,
        MANY,
        override_reason="Race on Sunday, springs ordered.",
    )


def every_shim_different() -> BuildSheet:
    """Two dozen labels: no two neighbours alike."""
    sizes = [(21 - 0.5 * i, 0.10 if i % 2 else 0.15) for i in range(24)]
    old = stack(*sizes)
    new, change = swapped(old, 11, key(15.5, 0.2))
    chosen = candidate(new, change, forces=forces())
    return _sheet(heading("Every label its own"), answer(chosen, too_few=0), chosen, old)


def with_ring() -> BuildSheet:
    """A preload ring with its centring shim behind it."""
    old = stack((20, 0.2), (20, 0.2), (18, 0.3, 16), (16, 0.2), (14, 0.2), (12, 0.2), (9, 0.3))
    new, change = swapped(old, 4, key(14, 0.15))
    chosen = candidate(new, change, forces=forces())
    unfinished = answer(chosen, status=Status.BEST_SO_FAR, too_few=-1)
    return _sheet(heading("Bent at rest"), unfinished, chosen, old, service=BLANK)


def long_names() -> BuildSheet:
    """Names that no field was made for, some of them hostile."""
    new, change = swapped(FEW, 3, key(17, 0.25))
    chosen = candidate(new, change, forces=forces())
    head = Heading(
        title=HOSTILE, shop=LONG, rider=LONG, bike="x" * 70, damper=LONG + " " + HOSTILE, valve="y" * 60,
        complaint=(HOSTILE + " " + LONG + " ") * 3, day=date(2026, 3, 14),
    )  # fmt: skip
    return _sheet(
        head,
        answer(chosen, too_few=0),
        chosen,
        FEW,
        goal=goal(HOSTILE),
        adjusters=(AdjusterMove("z" * 40, 3, 12, 18),),
        basis=("w" * 120,),
        override_reason=HOSTILE,
    )


def many_bands() -> BuildSheet:
    """One instant, narrow, with a wide limit on everything around it in both strokes."""
    wide = {"shift": 0, "tolerance": 0.1}
    asked = Goal(
        windows=(
            window("brake bump, third corner", Role.TARGET, 0.30, 0.34, shift=0.02, tolerance=0.03),
            window("support", Role.HOLD, 0.02, 0.10, shift=0, tolerance=0.09),
            window("edges", Role.HOLD, 1.0, 1.5, shift=0, tolerance=0.02),
            window("pedalling", Role.HOLD, -0.02, -0.06, shift=0, tolerance=0.02),
            window("compression 0.1 to 0.3", Role.FAMILIARITY, 0.101, 0.299, **wide),
            window("compression 0.34 to 1", Role.FAMILIARITY, 0.341, 0.999, **wide),
            window("compression 1.5 to 2", Role.FAMILIARITY, 1.501, 2.0, **wide),
            window("rebound to 0.02", Role.FAMILIARITY, -0.005, -0.019, **wide),
            window("rebound from 0.06", Role.FAMILIARITY, -0.061, -2.0, **wide),
        ),
        least_height=1.0e-3,
        most_height=4.2e-3,
    )
    new, change = swapped(MANY, 14, key(17, 0.2))
    chosen = candidate(new, change, forces=forces(target=asked))
    return _sheet(heading("One instant"), answer(chosen, too_few=0), chosen, MANY, goal=asked)


def clicks_only() -> BuildSheet:
    """The adjuster reaches it."""
    chosen = candidate(FEW, forces=forces())
    return _sheet(
        heading("Two clicks"),
        answer(chosen, too_few=-1),
        chosen,
        FEW,
        adjusters=(AdjusterMove("compression", 8, 6, 18), AdjusterMove("rebound", 6, 6, 16)),
    )


def out_of_reach() -> BuildSheet:
    """The shelf cannot; the nearest misses the target."""
    new, change = swapped(FEW, 3, key(17, 0.25))
    chosen = candidate(new, change, forces=forces(law))
    return _sheet(
        heading("Beyond the shelf"),
        answer(nearest=chosen, status=Status.PROVEN_IMPOSSIBLE, too_few=3),
        chosen,
        FEW,
        curves=(lines()[0], replace(lines()[0], name="nearest")),
    )


SAMPLES = {
    made.__name__: made
    for made in (
        few_shims,
        many_shims,
        every_shim_different,
        with_ring,
        many_bands,
        long_names,
        clicks_only,
        out_of_reach,
    )
}
