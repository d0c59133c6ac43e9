"""How far a search has come, in a line for whoever waits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimiser.model.percent import points_text

if TYPE_CHECKING:
    from optimiser.search import Progress


def progress_words(now: Progress) -> str:
    """How far a search has come, as the tuner counts: stacks ruled out, and how far off the best is.

    What is proven comes last while it may still change, and first once it is the verdict.
    """
    changes = "1 change" if now.changes == 1 else f"{now.changes} changes"
    after = f"looking for {now.phase.value}" if now.settled else changes
    told = [f"{after}: {now.ruled_out:,} stacks checked" if now.ruled_out else after]
    if now.found:
        told.append(f"{now.found} that do found so far")
    elif now.missed is not None:
        told.append(f"the best so far misses '{now.missed.band}' by {points_text(now.missed.by)}")
    if now.proven_too_few >= 0:
        clicks = "clicks alone proven not to do"
        proven = f"{now.proven_too_few} too few, proven" if now.proven_too_few else clicks
        told.insert(0 if now.settled else len(told), proven)
    return "; ".join(told)
