"""What every input file has in common: TOML in, a frozen model out, or one readable message."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Sequence
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError, ValidationInfo, field_validator
from pydantic_core import ErrorDetails

from optimiser.errors import InputError
from optimiser.files.fault_words import expectation, place_in_words
from optimiser.files.reading import read_bytes
from optimiser.files.toml_text import MOST_BITS, tables_of

MOST_FAULTS: Final = 20
"""More are only counted: a wrong file is wrong everywhere."""

MOST_NEAR: Final = 1000
"""Files of a folder that are looked at for a name like the one that is not there."""

LONGEST_SHOWN: Final = 80
"""Of a value that is shown in a message. [characters]"""


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

    @field_validator("*", mode="before")
    @classmethod
    def _no_truth_for_a_number(cls, value: Any, info: ValidationInfo) -> Any:
        """Refuse ``true`` where a number stands: it would be read as 1."""
        if _holds_truth(value) and _takes_a_number(cls.model_fields[str(info.field_name)].annotation):
            raise ValueError("a number; true and false are none")
        return value


def _holds_truth(value: Any) -> bool:
    if isinstance(value, (list, dict)):
        return any(_holds_truth(inner) for inner in (value.values() if isinstance(value, dict) else value))
    return isinstance(value, bool)


def _takes_a_number(annotation: Any) -> bool:
    """Whether a field holds numbers and no truths; tables inside it look after themselves."""
    kinds = set(_kinds_in(annotation))
    return bool(kinds & {float, int}) and bool not in kinds


def _kinds_in(annotation: Any) -> Iterator[Any]:
    yield annotation
    for inner in getattr(annotation, "__args__", ()):
        yield from _kinds_in(inner)


Model = TypeVar("Model", bound=FileModel)
Place = tuple[int | str, ...]
"""Where a key stands: tables and places in lists, from the outside inwards."""


def read_text(path: Path, *, what: str) -> str:
    """Text of a file that a person wrote, refused with a way out when it is missing, huge or not UTF-8."""
    expected = f"{'an' if what[0] in 'aeiou' else 'a'} {what} file"
    try:
        return read_bytes(path, what=expected, hint=partial(_near_file, path)).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            f"{path}: byte {error.start} is not UTF-8 text; expected {expected}. Save it as UTF-8."
        ) from None


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
    return model_of(read_text(path, what=what), model, path=path)


def model_of(text: str, model: type[Model], *, path: Path) -> Model:
    """Hold a TOML text to its model; ``path`` is where it stands, or will stand, for messages.

    Raises
    ------
    InputError
        As :func:`read_toml` does.
    """
    data = tables_of(text, name=str(path))
    try:
        return model.model_validate(data)
    except ValidationError as error:
        missing = [one["loc"] for one in error.errors() if one["type"] == "missing"]
        faults = _slips_once(model, error.errors(), missing)
        lines = [_explained(path, text, data, model, fault, missing) for fault in faults[:MOST_FAULTS]]
        more = [f"... and {len(faults) - MOST_FAULTS} more faults."] if len(faults) > MOST_FAULTS else []
        raise InputError("\n".join([*lines, *more])) from None


def _slips_once(
    model: type[BaseModel], faults: Sequence[ErrorDetails], missing: Sequence[Place]
) -> list[ErrorDetails]:
    """Faults without the keys that are only missing because they were misspelt: the slip names them."""
    slips = [one["loc"] for one in faults if one["type"] == "extra_forbidden"]
    meant = {(*slip[:-1], near) for slip in slips for near in _near_keys(model, slip, missing)}
    return [one for one in faults if one["type"] != "missing" or one["loc"] not in meant]


def _near_keys(model: type[BaseModel], place: Place, missing: Sequence[Place]) -> list[str]:
    """The key that an unknown one is meant for: alike, missing with its unit, or a little alike; or empty."""
    *table, last = place
    typed, known = str(last)[:LONGEST_SHOWN], _known_keys(model, table)
    unit = typed.rpartition("_")[2]
    alike = [str(key) for *other, key in missing if other == table and str(key).rpartition("_")[2] == unit]
    return (
        difflib.get_close_matches(typed, known, n=1, cutoff=0.8)
        or (alike if len(alike) == 1 else [])
        or difflib.get_close_matches(typed, known, n=1, cutoff=0.5)
    )


def _explained(
    path: Path,
    text: str,
    data: object,
    model: type[BaseModel],
    fault: ErrorDetails,
    missing: Sequence[Place],
) -> str:
    place = fault["loc"]
    field = clipped(place_in_words(place, data)) or "the file"
    where = f"{path}:{_line_of(text, place)}: {field}"
    if fault["type"] == "extra_forbidden":
        near = _near_keys(model, place, missing)
        known = ", ".join(_known_keys(model, place[:-1]))
        hint = f"Did you mean '{near[0]}'?" if near else f"Known keys here: {known}."
        return f"{where}: unknown key. {hint}"
    if fault["type"] == "missing":
        return f"{where}: missing; expected it in this table. Add the key."
    got = "" if isinstance(fault["input"], (dict, list)) else f" got {shown(fault['input'])};"
    return f"{where}:{got} expected: {expectation(fault)}"


def shown(value: object) -> str:
    """A value as it stands in a message, however long it is."""
    if isinstance(value, int) and value.bit_length() > MOST_BITS:
        return f"a number of some {int(value.bit_length() * 0.30103) + 1} digits"
    return clipped(repr(value))


def clipped(text: str) -> str:
    """The beginning of a text, and how much more of it there is."""
    return text if len(text) <= LONGEST_SHOWN else f"{text[:LONGEST_SHOWN]}... ({len(text)} characters)"


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
        names = [entry.name for entry in islice(path.parent.iterdir(), MOST_NEAR)]
    except OSError:
        return f" The folder {path.parent} is not there either."
    near = difflib.get_close_matches(path.name, names, n=1)
    return f" Did you mean {path.parent / near[0]}?" if near else " Check the spelling and the folder."
