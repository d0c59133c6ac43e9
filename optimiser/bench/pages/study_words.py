"""What pages say of a study: what changes, how far it may be trusted."""

from __future__ import annotations

from collections.abc import Sequence

from optimiser.documents.common import ChangesDocument, CountedShim
from optimiser.model.stock import ShimKey


def changes_of(changes: ChangesDocument) -> str:
    """What leaves the stack and what comes, in words."""
    parts = [("out", changes.out), ("in", changes.put_in)]
    return "; ".join(f"{way} {_shims(shims)}" for way, shims in parts if shims) or "nothing"


def status_words(status: str) -> str:
    """How far an answer may be trusted."""
    return {
        "proven": "Proven: nothing that was allowed goes further.",
        "best so far": "The time ended it: ends that are not proven may lie further out.",
        "not all answered": "Not all was answered: ends that are not proven may lie further out.",
        "interrupted": "It was stopped: ends that are not proven may lie further out.",
    }[status]


def _shims(shims: Sequence[CountedShim]) -> str:
    return ", ".join(
        f"{'' if one.count == 1 else f'{one.count} of '}"
        + str(
            ShimKey.from_millimetres(
                outer=one.outer_diameter_mm, thickness=one.thickness_mm, inner=one.inner_diameter_mm
            )
        )
        for one in shims
    )
