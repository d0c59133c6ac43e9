"""The shims of one stack written anew in its damper file, with every other line and comment left alone."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import Array

from optimiser.errors import InputError
from optimiser.files.base import read_text
from optimiser.files.stack_text import lines_from_shims
from optimiser.files.writing import write_whole
from optimiser.model.stock import ShimKey


def write_stack(path: Path, name: str, shims: Iterable[ShimKey], *, hole: int) -> None:
    """Write a stack into its damper file.

    Parameters
    ----------
    path : the damper file.
    name : of the stack.
    shims : from the piston outwards.
    hole : of the shaft. [um]

    Raises
    ------
    InputError
        When the file has no such stack, or cannot be written; it is then as it was.
    """
    write_whole(
        path, with_stack_lines(read_text(path, what="damper"), name, shims, hole=hole, where=str(path))
    )


def with_stack_lines(text: str, name: str, shims: Iterable[ShimKey], *, hole: int, where: str) -> str:
    """The text of a damper file with other shims in one stack; ``where`` names the file in messages."""
    document, lines = tomlkit.parse(text), lines_from_shims(shims, hole=hole)
    own = [stack for stack in _stacks(document) if stack.get("name") == name]
    if len(own) != 1:
        raise InputError(
            f"{where}: got {len(own)} stacks named {name!r}, expected one. Write it there by hand."
        )
    own[0]["shims"] = _listed(lines)
    written = tomlkit.dumps(document)
    expected = tomllib.loads(text)
    next(stack for stack in _stacks(expected) if stack.get("name") == name)["shims"] = lines
    if tomllib.loads(written) != expected:
        raise InputError(
            f"{where}: the stack {name!r} could not be written without touching the rest; do it by hand."
        )
    return written


def _stacks(document: Mapping[str, Any]) -> Iterator[Any]:
    return (stack for valve in document.get("valve", ()) for stack in valve.get("stack", ()))


def _listed(lines: list[str]) -> Array:
    listed = tomlkit.array()
    listed.extend(lines)
    return listed.multiline(len(lines) > 8)
