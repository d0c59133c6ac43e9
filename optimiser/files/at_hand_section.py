"""The [[at_hand]] tables of a job: what else the shop has that may be turned, besides shims and clickers."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Field, model_validator

from damping_model.flow.oil import Oil
from damping_model.units import BAR, MILLIMETRE
from optimiser.files.base import FileModel
from optimiser.files.bounds import Within
from optimiser.files.oil_text import oil_from_text
from optimiser.model.other_parts import USUAL_TIME, AtHand, PartKind

MINUTE: Final = 60.0
"""[s]"""

Few = Field(max_length=12)
"""Of one part."""


class AtHandSection(FileModel):
    """What the shop has of one part: one list, of oils, gas pressures, bleed holes or preload rings."""

    oils: Annotated[tuple[Annotated[str, Field(min_length=1, max_length=80)], ...], Few] = ()
    """Each a grade, "VG 15", or two viscosities, "16.1@40 3.9@100"."""
    gas_bar: Annotated[tuple[Annotated[float, Within("reservoir.gas_pressure_bar")], ...], Few] = ()
    """Gauge pressures that somebody trained may fill to, all within what the maker allows."""
    bleed_mm: Annotated[tuple[Annotated[float, Within("bleed.diameter_mm")], ...], Few] = ()
    """Diameters of the hole, or of jets, for the bleed of that name."""
    ring_mm: Annotated[tuple[Annotated[float, Field(ge=0.05, le=2)], ...], Few] = ()
    """Thicknesses of a preload ring as wide as the one in the stack of that name."""
    name: Annotated[str, Field(min_length=1, max_length=80)] | None = None
    """Of the bleed, or of the stack that the ring lies in, as the damper file has it."""
    minutes: Annotated[float, Field(ge=0, le=1440)] | None = None
    """What the change costs, besides the opening of a valve that a bleed and a ring ask for; 30 for oil, 15
    for gas, 10 for the others when left out: common practice, no source."""

    @model_validator(mode="after")
    def _one_list(self) -> AtHandSection:
        lists = [name for name in ("oils", "gas_bar", "bleed_mm", "ring_mm") if getattr(self, name)]
        if len(lists) != 1:
            got = " and ".join(lists) or "none"
            raise ValueError(f"one list in each [[at_hand]]: oils, gas_bar, bleed_mm or ring_mm; got {got}")
        if (self.name is not None) != self.kind.opens:
            raise ValueError(
                f"name beside {lists[0]}: of the {'bleed' if self.bleed_mm else 'stack'}"
                if self.kind.opens
                else f"no name beside {lists[0]}: a damper has one"
            )
        return self

    @property
    def kind(self) -> PartKind:
        """Of the part."""
        if self.oils:
            return PartKind.OIL
        if self.gas_bar:
            return PartKind.GAS
        return PartKind.BLEED if self.bleed_mm else PartKind.RING

    def value(self, *, filled_with: Oil, where: str) -> AtHand:
        """The list in SI; ``filled_with`` is the damper's oil, whose density a grade is taken to have.

        Raises
        ------
        InputError
            When a text means no oil.
        """
        oils = (
            oil_from_text(text, density_15=filled_with.density_15, where=f"{where}: at_hand: oils")
            for text in self.oils
        )
        figures = (
            *(bar * BAR for bar in self.gas_bar),
            *(size * MILLIMETRE for size in (*self.bleed_mm, *self.ring_mm)),
        )
        return AtHand(
            kind=self.kind,
            name=self.name or "",
            choices=(*oils, *figures),
            time=USUAL_TIME[self.kind] if self.minutes is None else self.minutes * MINUTE,
        )
