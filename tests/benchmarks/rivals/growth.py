"""How the search's own runs and time grow with shims in the stack, types on the shelf, and changes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from damping_model.stack.stack import Stack
from damping_model.units import BAR, MILLIMETRE
from optimiser.model.answer import Status
from optimiser.model.damper_description import with_stack
from optimiser.model.packs import packs_of
from optimiser.model.stock import ShimKey, Stock
from tests.benchmarks.rivals import jobs, ours
from tests.benchmarks.rivals.question import Question
from tests.benchmarks.rivals.recorder import Budget
from tests.benchmarks.rivals.table import Row, time_text

SHIMS: Final = (6, 12, 24, 48)
TYPES: Final = (20, 60, 120)
CHANGES: Final = (1, 2, 3, 4)

WITHIN: Final = {"shift": 0.07, "tolerance": 0.025, "hold": 0.023}
"""The goal of the stiff shop's first job: the least is one change where the stack is its own. [-]"""

BEYOND: Final = {"shift": 0.60, "tolerance": 0.02, "hold": 0.01}
"""Out of reach of a few changes, so that every number of changes allowed has to be closed. [-]"""

DAMPER: Final = "tarn_shock.toml"
THICKNESSES: Final = (50, 100, 150, 200, 250, 300)
"""Those of the stiff shop's shelf. [um]"""

HOLE: Final = 8_000
GAS: Final = 80.0
"""So high that oil boils under no stack: only then may a band be searched at all. [bar]"""

ROOM: Final = 9.0
"""So high that the nut never decides; the stack of four dozen is half as high again as the shop's. [mm]"""


@dataclass(frozen=True)
class Case:
    """One row: what is varied, and the question."""

    varied: str
    question: Question


def tables() -> Iterator[tuple[str, Row, Iterator[Case]]]:
    """Title, head and rows of each table; a question is made when its turn comes."""
    end = ("runs", "s", "outcome")
    for goal, changes, words in (
        (BEYOND, 1, "one change allowed, low-speed force 60 % up, out of reach"),
        (WITHIN, 2, "two changes allowed, low-speed force 7 % up"),
        (BEYOND, 2, "two changes allowed, low-speed force 60 % up, out of reach"),
    ):
        yield (
            f"Shims in the stack; 60 types on the shelf, {words}",
            ("shims", *end),
            (Case(f"{n}", question(goal, shims=n, types=60, most_changes=changes)) for n in SHIMS),
        )
        yield (
            f"Types on the shelf; 24 shims, {words}",
            ("types", *end),
            (Case(f"{n}", question(goal, shims=24, types=n, most_changes=changes)) for n in TYPES),
        )
    yield (
        "Changes allowed; 24 shims, 60 types on the shelf, low-speed force 60 % up, out of reach",
        ("changes", *end),
        (Case(f"{n}", question(BEYOND, shims=24, types=60, most_changes=n)) for n in CHANGES),
    )


def row(case: Case, budget: Budget) -> Row:
    """Runs and time until the search has its answer and the proof, or until the budget ends."""
    record, answer = ours.run(case.question, budget)
    more = "" if record.proof else "> "
    faults = case.question.faults(answer)
    outcome = {
        Status.PROVEN_LEAST: f"proven: {len(answer.candidates[0].changes) if answer.candidates else 0} needed",
        Status.PROVEN_IMPOSSIBLE: f"proven: {answer.most_changes} will not do",
    }.get(answer.status, f"budget spent; proven that {answer.proven_too_few} will not do")
    if answer.status is Status.PROVEN_LEAST and not record.proof:
        outcome += "; budget spent before the closest was proven"
    return (
        case.varied,
        f"{more}{record.end.runs:,}",
        f"{more}{time_text(record.end.seconds)}",
        f"FAULT: {'; '.join(faults)}" if faults else outcome,
    )


def stack_of_size(shims: int) -> Stack:
    """A stack like the stiff shop's two dozen with more shims or fewer, as stiff as a whole.

    The stiff shop's stack has six at the face, one small shim that parts the stages, and seventeen that fall away
    to the clamp shim. A stack of n has a quarter at the face, the same small shim, and takes the diameters of
    the rest at even steps from the shop's. Since n plates of one thickness t are as stiff as n t^3, each is
    thicker by the cube root of 24 / n, and takes that of the shop's thicknesses which brings the sum of t^3,
    counted from the piston, nearest to what it should be.
    """
    demo = [ShimKey.of(shim) for shim in jobs.mounted_in(DAMPER).stack.shims]
    if shims == len(demo):
        return Stack(tuple(key.shim for key in demo))
    parting = next(k for k, key in enumerate(demo) if key.outer < demo[k + 1].outer)
    face = max(1, round(shims * parting / len(demo)))
    taper = demo[parting + 1 : -1]
    rest = shims - face - 2
    made = [*_as_stiff(demo[:parting], face), demo[parting], *_as_stiff(taper, rest), demo[-1]]
    packs = (sorted(pack, key=_thickness, reverse=True) for pack in packs_of(made))
    return Stack(tuple(key.shim for pack in packs for key in pack))


def _thickness(key: ShimKey) -> int:
    return key.thickness


def shelf_of_size(types: int) -> Stock:
    """So many types, spread evenly over the stiff shop's shelf.

    That has 55 types of this hole in stock. Further ones are made up beside them, as many of each as of the
    type beside: first half a millimetre wider, then 0.025 mm thicker.
    """
    stock = jobs.whole_shelf()
    real = stock.fitting(inner=HOLE)
    widest = max(key.outer for key in real)
    wider = {key._replace(outer=key.outer + 500): key for key in real if key.outer < widest}
    thicker = {key._replace(thickness=key.thickness + 25): key for key in real}
    chosen = dict.fromkeys(_even(real, min(types, len(real))))
    counts = {key: stock.count(key) for key in chosen}
    for beside in (wider, thicker):
        more = min(types - len(counts), len(beside))
        counts |= {key: stock.count(beside[key]) for key in _even(tuple(beside), more)}
    return Stock(counts)


def question(goal: Mapping[str, float], *, shims: int, types: int, most_changes: int) -> Question:
    """A goal for a stack and a shelf of some size."""
    mounted = jobs.mounted_in(DAMPER)
    mounted = replace(mounted, mounting=replace(mounted.mounting, most_height=ROOM * MILLIMETRE))
    stack = stack_of_size(shims)
    damper = replace(jobs.damper_with(DAMPER), gas_pressure=GAS * BAR)
    damper = with_stack(damper, mounted.name, stack)
    asked = jobs.goal_of(
        damper, stack, shift=goal["shift"], tolerance=goal["tolerance"], hold=goal["hold"],
        shrink=0.4 * MILLIMETRE, room=ROOM * MILLIMETRE,
    )  # fmt: skip
    return jobs.question(
        f"{shims} shims, {types} types, {most_changes} changes", damper=damper, mounted=mounted, stack=stack,
        goal=asked, stock=shelf_of_size(types), most_changes=most_changes,
    )  # fmt: skip


def _even(from_these: Sequence[ShimKey], count: int) -> list[ShimKey]:
    """So many at even steps; some more than once when there are not enough."""
    return [from_these[k * len(from_these) // count] for k in range(count)]


def _as_stiff(group: Sequence[ShimKey], count: int) -> list[ShimKey]:
    """So many shims of the group's diameters with the group's sum of t^3."""
    share = sum(key.thickness**3 for key in group) / count
    made, reached = [], 0
    for number, key in enumerate(_even(group, count), 1):
        desired = share * number
        thickness = min(THICKNESSES, key=lambda t: abs(reached + t**3 - desired))
        reached += thickness**3
        made.append(key._replace(thickness=thickness))
    return made
