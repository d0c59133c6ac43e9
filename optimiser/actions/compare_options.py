"""What is typed after ``shimwright compare``: stacks with their names; and what its file is."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from damping_model.stack.stack import Stack
from optimiser.errors import InputError
from optimiser.files.base import read_text
from optimiser.files.stack_changes import changed_stack, says_changes
from optimiser.files.stack_text import shims_from_text
from optimiser.files.toml_text import tables_of
from optimiser.model.damper_description import MountedStack
from optimiser.model.edits import changes_between, keys_of, stack_of
from optimiser.model.stock import ShimKey

_LABEL: Final = re.compile(r"\s*(?P<label>[^=\n]{1,40}?)\s*=(?P<rest>.*)", re.DOTALL)
_SIZE: Final = re.compile(r"[0-9]\s*[x×X*/]\s*[0-9.,]|^(?:qty|count|od|id|hole|t|shims)$", re.IGNORECASE)


def labelled(text: str) -> tuple[str | None, str]:
    """A typed stack with the name that stands before it, as in ``softer=20x0.10 x5, 18x0.10``."""
    match = _LABEL.fullmatch(text)
    if match is None or _SIZE.search(match["label"].strip()):
        return None, text
    return match["label"].strip(), match["rest"]


def typed_stack(text: str, mounted: MountedStack, *, where: str) -> Stack:
    """The stack that a text means in a place.

    Parameters
    ----------
    text : as people write stacks, or the changes of the stack that lies there.
    mounted : the place.
    where : the option or the file, for messages.

    Raises
    ------
    InputError
        Naming line and entry.
    """
    hole = 1000 * mounted.mounting.hole_diameter
    try:
        if says_changes(text):
            return stack_of(changed_stack(text, keys_of(mounted.stack), hole_mm=hole))
        return stack_of(shims_from_text(text, hole_mm=hole))
    except ValueError as error:
        raise InputError(f"{where}: expected {error}.") from None


def stack_name(label: str | None, old: Sequence[ShimKey], new: Sequence[ShimKey], *, number: int) -> str:
    """What a stack is called: as it was named, or by what is changed in it, or by its number."""
    if label is not None:
        return label
    words = []
    for change in changes_between(stack_of(old), stack_of(new)):
        words += [f"{change.out} out"] if change.out is not None else []
        words += [f"{change.put_in} in"] if change.put_in is not None else []
    if 0 < len(words) <= 2:
        return ", ".join(words)
    return f"stack {number}" if words else "the same stack"


def is_damper(path: Path) -> bool:
    """Whether a file holds a damper and not a job, by its tables."""
    tables = tables_of(read_text(path, what="job or damper"), name=str(path))
    return "chamber" in tables or "valve" in tables
