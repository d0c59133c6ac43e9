"""What meets a goal and is not listed in a plan, since it does its work where a candidate does."""

from __future__ import annotations

from optimiser.documents.common import ChangesDocument, Document, FromShelf, ShimDocument
from optimiser.documents.shims import changes_document, from_shelf, shim_document
from optimiser.jobs.planned import Planned


class FoldedDocument(Document):
    """A stack that meets the goal too, and does its work where a listed candidate does."""

    rank: int
    """Goes on from the last candidate's; it can be built by it."""
    like: int | None
    """Rank of the candidate that does its work in the same place; null where none is listed."""
    number_of_changes: int
    changes: ChangesDocument
    stack: list[ShimDocument]
    """From the piston outwards."""
    adjusters: dict[str, int]
    """Clicks out from closed, by adjuster."""
    miss_percent: float
    """Largest distance from the wanted force over the target windows."""
    from_shelf: list[FromShelf]
    """What it takes from the shelf, of how many, and where those lie."""


def folded_documents(planned: Planned) -> list[FoldedDocument]:
    """What is not listed, with the rank of the candidate that works alike."""
    listed = [] if planned.answer is None else [*planned.answer.candidates]
    ideas = [(rank, idea) for rank, one in enumerate(listed, 1) if (idea := planned.idea_of(one)) is not None]
    return [
        FoldedDocument(
            rank=rank,
            like=next((leader for leader, idea in ideas if one in idea.twins), None),
            number_of_changes=len(one.changes),
            changes=changes_document(one.changes),
            stack=[shim_document(shim) for shim in one.stack.shims],
            adjusters=dict(planned.settings[one.setting]),
            miss_percent=round(100 * one.target_error, 3),
            from_shelf=from_shelf(planned.taken(one)),
        )
        for rank, one in enumerate(planned.folded, len(listed) + 1)
    ]
