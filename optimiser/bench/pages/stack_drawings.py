"""Stacks as pages draw them: before and after beside one another, what changes marked by shape and colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from damping_model.stack.stack import Stack
from optimiser.documents.common import ShimDocument
from optimiser.model.damper_description import MountedStack
from optimiser.model.edits import changes_between, stack_of
from optimiser.model.stock import ShimKey
from optimiser.report.candidates import steps_text
from optimiser.report.section import section_svg
from optimiser.report.stack_to_build import Seating
from optimiser.report.steps import hole_of, places_in, places_out


@dataclass(frozen=True, slots=True)
class StackPair:
    """A stack before and after, drawn.

    Parameters
    ----------
    before, after : the drawings.
    words : what changes, in a line.
    """

    before: Markup
    after: Markup
    words: str


def stack_of_document(shims: Sequence[ShimDocument]) -> Stack:
    """A stack from a document, from the piston outwards."""
    return stack_of(
        [
            ShimKey.from_millimetres(
                outer=shim.outer_diameter_mm, thickness=shim.thickness_mm, inner=shim.inner_diameter_mm
            )
            for shim in shims
        ]
    )


def drawn_pair(mounted: MountedStack, new: Stack) -> StackPair:
    """A stack in its place as it is and as it would be, to one scale."""
    old, changes = mounted.stack, changes_between(mounted.stack, new)
    seating = Seating.of(mounted.path, bore_radius=mounted.mounting.bore_radius)
    words = steps_text(changes, hole=hole_of(new)) if changes else "no shim changes"
    return StackPair(
        section_svg(
            old,
            seating,
            title=f"The stack as it is. {_listed(old)}",
            taken_out=places_out(changes),
            beside=(new,),
        ),
        section_svg(
            new,
            seating,
            title=f"The stack with {words}. {_listed(new)}",
            put_in=places_in(changes),
            beside=(old,),
        ),
        words,
    )


def drawn(mounted: MountedStack) -> Markup:
    """A stack in its place."""
    seating = Seating.of(mounted.path, bore_radius=mounted.mounting.bore_radius)
    return section_svg(mounted.stack, seating, title=f"{mounted.name}. {_listed(mounted.stack)}")


def _listed(stack: Stack) -> str:
    """The shims in words, from the piston outwards."""
    return f"From the piston outwards: {', '.join(str(ShimKey.of(shim)) for shim in stack.shims)}."
