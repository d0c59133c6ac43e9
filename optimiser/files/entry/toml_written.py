"""Tables as TOML text: plain values first, then tables, then lists of tables; texts quoted as JSON does."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any


def toml_text(tables: Mapping[str, Any], *, head: str = "") -> str:
    """The text of tables that hold texts, numbers, truths, lists and tables.

    Parameters
    ----------
    tables : of the file.
    head : comment lines in front.
    """
    return head + "\n".join(_lines(tables, ())).lstrip("\n") + "\n"


def _lines(table: Mapping[str, Any], place: tuple[str, ...]) -> Iterator[str]:
    for key, value in table.items():
        if not isinstance(value, Mapping) and not _is_tables(value):
            yield f"{_key(key)} = {_value(value)}"
    for key, value in table.items():
        inside = (*place, key)
        if isinstance(value, Mapping):
            yield ""
            yield f"[{'.'.join(map(_key, inside))}]"
            yield from _lines(value, inside)
        elif _is_tables(value):
            for one in value:
                yield ""
                yield f"[[{'.'.join(map(_key, inside))}]]"
                yield from _lines(one, inside)


def _is_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(one, Mapping) for one in value)


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _quoted(key)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, list):
        return "[" + ", ".join(_value(one) for one in value) + "]"
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")
