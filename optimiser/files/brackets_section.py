"""The [brackets] table of a job: what came of riding each adjuster through its range."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from optimiser.files.base import FileModel
from optimiser.intake.brackets import Notes

Clicks = Annotated[int, Field(ge=0, le=99)]


class BracketNotesSection(FileModel):
    """Notes on one adjuster."""

    name: Annotated[str, Field(min_length=1, max_length=80)]
    """As the damper file names it."""
    lowest_clicks: Clicks
    highest_clicks: Clicks
    """The ends that were ridden, in clicks out from closed."""
    best_clicks: Clicks | None = None
    better: str = ""
    """What was better, and where."""
    worse: str = ""

    @model_validator(mode="after")
    def _in_order(self) -> BracketNotesSection:
        if self.lowest_clicks >= self.highest_clicks:
            raise ValueError(
                f"lowest_clicks lower than highest_clicks, got {self.lowest_clicks} "
                f"and {self.highest_clicks}; swap them"
            )
        return self

    def notes(self) -> Notes:
        """The notes as the rest of the program sees them."""
        return Notes(
            adjuster=self.name,
            lowest=self.lowest_clicks,
            highest=self.highest_clicks,
            best=self.best_clicks,
            better=self.better,
            worse=self.worse,
        )


class BracketsSection(FileModel):
    """Notes from the ride plan."""

    adjuster: Annotated[tuple[BracketNotesSection, ...], Field(max_length=12)] = ()

    def notes(self) -> tuple[Notes, ...]:
        """The notes on every adjuster that was ridden."""
        return tuple(section.notes() for section in self.adjuster)
