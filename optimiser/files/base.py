"""What every input file has in common: TOML in, a frozen model out, or one readable message."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError
from pydantic_core import ErrorDetails

from optimiser.errors import InputError

LARGEST_FILE: Final = 5_000_000
"""More than any shop writes by hand. [bytes]"""


class FileModel(BaseModel):
    """A table in an input file: frozen, no unknown keys, no 'nan', units in the names of the keys."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        allow_inf_nan=False,
        str_strip_whitespace=True,
        str_max_length=2000,
        strict=False,
        use_attribute_docstrings=True,
    )


Model = TypeVar("Model", bound=FileModel)


def read_text(path: Path, *, what: str) -> str:
    """Text of a file that a person wrote, refused with a way out when it is missing, huge or not UTF-8."""
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise InputError(f"{path}: got a folder, expected a {what} file. Name the file inside it.")
        if size > LARGEST_FILE:
            raise InputError(
                f"{path}: got {size / 1e6:.0f} MB, expected a {what} file "
                f"of at most {LARGEST_FILE / 1e6:.0f} MB. Check that this is the right file."
            )
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise InputError(f"{path}: no such file; expected a {what} file.{_near_file(path)}") from None
    except UnicodeDecodeError as error:
        raise InputError(
            f"{path}: byte {error.start} is not UTF-8 text; expected a {what} file. Save it as UTF-8."
        ) from None
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror}); expected a {what} file.") from None


def read_toml(path: Path, model: type[Model], *, what: str) -> Model:
    """Read one TOML file into its model.

    Parameters
    ----------
    path : the file.
    model : what it must hold.
    what : what the file is, in a word, for messages.

    Raises
    ------
    InputError
        Naming file, line and field, what was got, what was expected and the way out; all faults at once.
    """
    text = read_text(path, what=what)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(
            f"{path}: not TOML: {error}. Mend that place; strings need quotes, tables [brackets]."
        ) from None
    try:
        return model.model_validate(data)
    except ValidationError as error:
        lines = [_explained(path, text, model, fault) for fault in error.errors()]
        raise InputError("\n".join(lines)) from None


def _explained(path: Path, text: str, model: type[BaseModel], fault: ErrorDetails) -> str:
    place = fault["loc"]
    field = ".".join(str(part) for part in place) or "the file"
    where = f"{path}:{_line_of(text, place)}: {field}"
    if fault["type"] == "extra_forbidden":
        known = _known_keys(model, place[:-1])
        near = difflib.get_close_matches(str(place[-1]), known, n=1, cutoff=0.5)
        hint = f"Did you mean '{near[0]}'?" if near else f"Known keys here: {', '.join(known)}."
        return f"{where}: unknown key. {hint}"
    if fault["type"] == "missing":
        return f"{where}: missing; expected it in this table. Add the key."
    got = "" if isinstance(fault["input"], (dict, list)) else f" got {fault['input']!r};"
    return f"{where}:{got} expected: {_expectation(fault)}"


def _expectation(fault: ErrorDetails) -> str:
    message = fault["msg"].removeprefix("Value error, ")
    return message.removeprefix("Input should be ") + ("" if message.endswith((".", "?")) else ".")


def _known_keys(model: type[BaseModel], place: Sequence[int | str]) -> list[str]:
    """Keys that the table at a place may hold, found by walking the model's annotations."""
    models: list[type[BaseModel]] = [model]
    for part in place:
        if isinstance(part, int):
            continue
        models = [
            inner
            for outer in models
            if part in outer.model_fields
            for inner in _models_in(outer.model_fields[part].annotation)
        ] or models
    return sorted({key for found in models for key in found.model_fields})


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [found for inner in getattr(annotation, "__args__", ()) for found in _models_in(inner)]


def _line_of(text: str, place: Sequence[int | str]) -> int:
    """Line of a key in the file; of its table when the key itself is not there; 1 as a last resort."""
    lines = text.splitlines()
    start, best = 0, 1
    for index, part in enumerate(place):
        if isinstance(part, int):
            continue
        count = place[index + 1] if index + 1 < len(place) and isinstance(place[index + 1], int) else 0
        pattern = re.compile(
            rf"^\s*(?:\[+\s*(?:[\w.\-]+\.)?{re.escape(str(part))}\s*\]+|[\"']?{re.escape(str(part))}[\"']?\s*[=.]"
            rf"|.*[{{,]\s*{re.escape(str(part))}\s*=)"
        )
        hits = [number for number in range(start, len(lines)) if pattern.match(lines[number])]
        if not hits:
            continue  # a table may be opened by its child: [[basics.corner]] alone
        start = hits[min(int(count), len(hits) - 1)]
        best = start + 1
    return best


def _near_file(path: Path) -> str:
    try:
        names = [entry.name for entry in path.parent.iterdir()]
    except OSError:
        return f" The folder {path.parent} is not there either."
    near = difflib.get_close_matches(path.name, names, n=1)
    return f" Did you mean {path.parent / near[0]}?" if near else " Check the spelling and the folder."
