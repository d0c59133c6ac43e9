"""Words that people were shown once and that were replaced by the trade's own; none of them comes back."""

from __future__ import annotations

import re
from typing import Final

REPLACED: Final = {
    r"spill(s|ed)?": "change elsewhere",
    r"off target": "miss",
    r"scarcest": "uses 1 of 4",
    r"MISSED": "out of range",
    r"resisting force": "damping force",
    r"clicks only": "clickers only",
    r"mean (change|shift|force)": "average change",
    r"promised (to|twice|elsewhere)": "reserved",
    r"(given|gives?) (it )?back|bolted into": "put back, fitted",
    r"doctor": "check the books",
    r"shaft-side": "rod side",
    r"stage joins": "the second stage comes in late",
    r"keeps its threads|all its threads": "thread length left",
    r"(?i:one pull)": "one shim out",
    r"ways (ruled out|to change it)": "stacks checked",
}
"""What is gone, as a pattern, and what stands for it."""

_ANY: Final = re.compile(r"(?<![\w-])(" + "|".join(REPLACED) + r")(?![\w-])")


def replaced_in(text: str) -> list[str]:
    """The replaced words that a text still uses."""
    return [match[0] for match in _ANY.finditer(" ".join(text.split()))]
