"""What ``--json`` says of each step of effort of a plan."""

from __future__ import annotations

from typing import Literal

from optimiser.documents.common import ChangesDocument, Document, FromShelf
from optimiser.documents.sure import SureDocument


class EffortBandDocument(Document):
    """What a step of effort does to one band."""

    name: str
    average_percent: float
    least_percent: float
    most_percent: float
    verdict: Literal["in range", "at the edge", "out of range"]
    missed_by_points: float
    missed_by_n: float
    missed_at_m_s: float | None
    """Null for the average, and where nothing is missed."""


class EffortStepDocument(Document):
    """One step of effort at its best."""

    number_of_changes: int
    """0 for clicks alone."""
    opens: str | None
    """The stack that is opened, or several joined by "and"; null where no shim changes."""
    hours: float | None = None
    """Work on the bench; null where one stack alone may change."""
    in_range: bool
    proven: bool
    """Whether it is proven that nothing with so much effort is in range, or that this is the least effort."""
    adjusters: dict[str, int]
    changes: ChangesDocument
    from_shelf: list[FromShelf]
    bands: list[EffortBandDocument]
    aimed: float | None
    in_the_way: str | None
    """The band that is missed by most; null when all are met."""
    ways: list[str]
    """Different ways that were found."""
    sure: SureDocument | None = None
    """How surely it does what is promised; null where that is not known."""
