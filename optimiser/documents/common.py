"""What the documents of several commands share: shims, findings, what was left out, what an answer cost."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import BaseModel, ConfigDict, Field

Length = Annotated[float, Field(ge=0, le=1000, allow_inf_nan=False)]
"""Of a shim. [mm]"""

MOST_SHIMS: Final = 100_000
"""Of one type; the shelf holds no more."""


class Document(BaseModel):
    """A table in an output document."""

    model_config = ConfigDict(frozen=True, extra="forbid", use_attribute_docstrings=True)


class ShimDocument(Document):
    """A shim type."""

    outer_diameter_mm: Length
    thickness_mm: Length
    inner_diameter_mm: Length


class CountedShim(ShimDocument):
    """A shim type and how many of it."""

    count: Annotated[int, Field(ge=0, le=MOST_SHIMS)]


class FromShelf(CountedShim):
    """Shims of one type that come from the shelf."""

    of: Annotated[int, Field(ge=0)]
    """How many are free there, before."""
    drawer: str = ""
    """Where they lie; empty when the shop has no words for it."""
    readings_mm: list[float] = Field(default_factory=list)
    """What those measure that are to be taken; empty where any will do."""
    drawer_of: ShimDocument | None = None
    """The type of their drawer, where the thickness is what they measured; else null."""


class ChangesDocument(Document):
    """What leaves the damper and what comes from the shelf."""

    out: list[CountedShim]
    put_in: list[CountedShim]


class FindingDocument(Document):
    """Something to put right before a damper is opened."""

    what: str
    got: str
    expected: str
    do_this: str
    why: str


class LeftOutDocument(Document):
    """How many stacks and settings that would do were left out, by what speaks against them."""

    boiling: int
    """Their oil would boil inside a band."""
    overstressed: int
    """A shim would be stressed beyond the limit."""
    unsure: int = 0
    """Too few dampers built like this would keep all limits, where a chance was asked."""


class UnansweredDocument(Document):
    """What the model had no answer for."""

    settings: list[dict[str, int]]
    """Clicks out of every adjuster, at which the stack as it is has no answer."""
    stacks: list[list[ShimDocument]]
    """Changed stacks that have none, from the piston outwards."""


class EffortDocument(Document):
    """What the answer cost."""

    physics_runs: int
    families: int
    stacks_checked: int


class OtherStackDocument(Document):
    """Another stack of the damper that a candidate changes."""

    stack_name: str
    number_of_changes: int
    stack: list[ShimDocument]
    """From the piston outwards."""
    height_mm: float
