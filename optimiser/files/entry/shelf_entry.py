"""A new shelf from what lies in the drawers: the shims by the hole that the damper's stacks need."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from optimiser.errors import InputError
from optimiser.files.damper_file import DamperFile
from optimiser.files.entry.filling import NONE
from optimiser.files.entry.readings import each_shim
from optimiser.files.shelf import ShelfRow, shelf_text
from optimiser.files.stack_text import lines_from_shims
from optimiser.intake.questions import Question
from optimiser.model.stock import ShimKey


def holes_of(damper: DamperFile) -> tuple[float, ...]:
    """Every hole that shims of a damper's stacks have. [mm]"""
    return tuple(sorted({stack.hole_mm for valve in damper.valve for stack in valve.stack}))


def shelf_questions(damper: DamperFile | None) -> Iterator[Question]:
    """One question for each hole of the damper; none before there is a damper."""
    for hole in () if damper is None else holes_of(damper):
        yield Question(
            _key(hole),
            f"Which shims with a hole of {hole:g} mm are in the drawers? (like 8 of 20x0.10, 6 of 20x0.15)",
            "The search takes from the shelf and from the stack itself, nothing else.",
            lambda text, hole=hole: _checked(text, hole),  # type: ignore[misc]
            how="Count each size; an answer may go over many lines, an empty one ends it.",
            skipped=NONE,
            taken=lambda kept: "None: only what is in the stack can be used." if kept == NONE else "",
            line=lambda text, hole=hole: each_shim(text, hole=hole),  # type: ignore[misc]
        )


def new_shelf_text(damper: DamperFile, answers: Mapping[str, str]) -> str:
    """The shelf file that answers amount to."""
    rows: dict[ShimKey, int] = {}
    for hole in holes_of(damper):
        said = answers.get(_key(hole), NONE)
        for key in () if said in {"", NONE} else _shims(said, hole):
            rows[key] = rows.get(key, 0) + 1
    return shelf_text(ShelfRow(key, count) for key, count in rows.items())


def _key(hole: float) -> str:
    return f"shelf {hole:g} mm"


def _checked(text: str, hole: float) -> str:
    if text.strip().lower() in {NONE, "no"}:
        return NONE
    return ", ".join(lines_from_shims(sorted(_shims(text, hole), reverse=True), hole=round(hole * 1000)))


def _shims(text: str, hole: float) -> Sequence[ShimKey]:
    """Every shim of an answer, an entry at a time: drawers hold more than a stack."""
    found = each_shim(text, hole=hole)
    if not found:
        raise InputError(f"got {text!r}, expected shims like 8 of 20x0.10, or none.")
    return found
