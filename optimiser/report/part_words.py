"""A change of a part besides shims in words: what becomes of it, and what a person does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from damping_model.flow.oil import Oil
from damping_model.units import BAR, MILLIMETRE
from optimiser.model.other_parts import PartChange, PartKind


def value_text(value: Oil | float, kind: PartKind) -> str:
    """What a part is: an oil's name, a pressure in bar, a size in mm."""
    if isinstance(value, Oil):
        return value.name
    return f"{value / BAR:g} bar" if kind is PartKind.GAS else f"{value / MILLIMETRE:g} mm"


def part_words(one: PartChange) -> str:
    """A change of a part in a few words: ``oil ISO VG 22 instead of ISO VG 15``."""
    return f"{place_words(one)} {value_text(one.to, one.kind)} instead of {value_text(one.was, one.kind)}"


def place_words(one: PartChange) -> str:
    """Which part it is: ``oil``, ``base bleed``, ``ring of the base compression stack``."""
    return {
        PartKind.OIL: "oil",
        PartKind.GAS: "gas at",
        PartKind.BLEED: one.name,
        PartKind.RING: f"ring of the {one.name}",
    }[one.kind]


def parts_words(changes: Sequence[PartChange]) -> str:
    """All changes of parts in a line."""
    return "; ".join(map(part_words, changes))


def part_steps(changes: Sequence[PartChange]) -> Iterator[str]:
    """What a person does about parts, one sentence each."""
    for one in changes:
        to, was = value_text(one.to, one.kind), value_text(one.was, one.kind)
        if one.kind is PartKind.OIL:
            yield (
                f"Drain {was} and fill with {to}, to the level and bled as the maker's manual says. The old "
                "oil goes to waste oil."
            )
        elif one.kind is PartKind.GAS:
            yield (
                f"Gas: {to} instead of {was}. Somebody trained fills it, with the maker's tool and manual, "
                "never beyond what the maker allows."
            )
        elif one.kind is PartKind.BLEED:
            yield f"{one.name}: fit the one with a hole of {to} instead of {was}."
        else:
            yield f"{one.name}: swap the preload ring of {was} for one of {to}, as wide as the old one."
    if changes:
        yield (
            "When it is built, 'shimwright done' writes this into the damper's file, or you do: "
            f"{parts_words(changes)}."
        )
