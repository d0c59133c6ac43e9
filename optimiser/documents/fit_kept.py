"""A fit as the local page keeps it until somebody decides whether plans use it."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from optimiser.documents.common import Document
from optimiser.documents.fit import FitDocument


class KeptLine(Document):
    """Damping force against shaft velocity."""

    name: str
    velocities_m_s: list[float]
    forces_n: list[float]
    promised_to_m_s: float | None = None

    @model_validator(mode="after")
    def has_a_force_at_each_velocity(self) -> KeptLine:
        """Refuse a line with a point missing."""
        if len(self.velocities_m_s) != len(self.forces_n) or not self.forces_n:
            raise ValueError("expected a force at each velocity")
        return self


class FitKeptDocument(Document):
    """What a fit came to."""

    format: Literal["shimwright kept fit 1"] = "shimwright kept fit 1"
    fit: FitDocument
    verdict: dict[str, list[str]]
    """In sentences, by system of units."""
    told: list[str]
    """What the runs tell only in part, only together, or not at all."""
    notes: list[str]
    lines: list[KeptLine]
    """As written, then as fitted for each setting of the runs."""
    measured: list[KeptLine]
