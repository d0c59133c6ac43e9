"""How far a search has come, in a line for whoever waits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimiser.model.percent import points_text

if TYPE_CHECKING:
    from optimiser.search import Progress


def progress_words(now: Progress) -> str:
    """How far a search has come, as the tuner counts: stacks ruled out, and how far off the best is."""
    changes = "1 change" if now.changes == 1 else f"{now.changes} changes"
    told = [f"{changes}: {now.ruled_out:,} stacks checked" if now.ruled_out else changes]
    if now.found:
        told.append(f"{now.found} that do found so far")
    elif now.missed is not None:
        told.append(f"the best so far misses '{now.missed.band}' by {points_text(now.missed.by)}")
    if now.proven_too_few >= 0:
        told.append("clicks alone" if now.proven_too_few == 0 else f"{now.proven_too_few} too few")
        told[-1] += " proven not to do" if now.proven_too_few == 0 else ", proven"
    return "; ".join(told)
