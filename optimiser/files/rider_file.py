"""The rider file: who sits on the machine, and what was said about it."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from optimiser.files.base import FileModel
from optimiser.intake.machine import Rider


class RiderFile(FileModel):
    """A customer of the shop."""

    name: Annotated[str, Field(min_length=1, max_length=80)]
    mass_kg: Annotated[float, Field(ge=15, le=250)]
    """Without clothes and pack."""
    kit_mass_kg: Annotated[float, Field(ge=0, le=100)] = 0.0
    """Clothes, boots, helmet, pack and water."""
    words: str = ""
    """What the rider says, word for word."""

    def rider(self) -> Rider:
        """The rider as the rest of the program sees one."""
        return Rider(name=self.name, mass=self.mass_kg + self.kit_mass_kg, words=self.words)
