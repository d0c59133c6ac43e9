"""What is unusual in a damper file, said beside an answer that rests on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimiser.cli.saying import say

if TYPE_CHECKING:
    from optimiser.model.damper_description import DamperDescription


def say_oddities(described: DamperDescription) -> None:
    """One line an oddity, where messages go."""
    for oddity in described.oddities:
        say(
            f"Mind: {described.source}: {oddity.what}: got {oddity.got}, expected {oddity.expected}.",
            err=True,
        )
