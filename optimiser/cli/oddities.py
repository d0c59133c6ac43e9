"""What is unusual or not measured in a damper file, said beside an answer that rests on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimiser.cli.saying import say
from optimiser.model.fitted import fitted_words
from optimiser.model.unmeasured import unmeasured_words

if TYPE_CHECKING:
    from optimiser.model.damper_description import DamperDescription


def say_oddities(described: DamperDescription) -> None:
    """One line an oddity, one for a fit, one for all that was not measured, where messages go."""
    for oddity in described.oddities:
        say(
            f"Mind: {described.source}: {oddity.what}: got {oddity.got}, expected {oddity.expected}.",
            err=True,
        )
    if described.fitted is not None:
        say(fitted_words(described.fitted, described.source), err=True)
    if described.not_measured:
        say(f"Not measured, taken as usual: {unmeasured_words(described.not_measured)}.", err=True)
