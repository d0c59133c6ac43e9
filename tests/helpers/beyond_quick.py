"""Which tests try more in a thorough run than in a quick one, told from their source; the others need no second run."""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Final

import pytest

from tests.helpers.counts import ONLY_THOROUGH

COUNTED: Final = ("tests.helpers.counts", "hypothesis", "tests.helpers.random_dampers")
"""What a file imports whose tests try more in a thorough run."""

SAYS_SO_ITSELF: Final = "thorough_only"
"""Leaves a trace on each test that a quick run skips, so that it need not be looked for in the source."""


def tries_more(item: pytest.Item) -> bool:
    """Whether a quick run has left out this test, or tried less of it; yes where that cannot be told."""
    if any(str(mark.kwargs.get("reason", "")).startswith(ONLY_THOROUGH) for mark in item.iter_markers()):
        return True
    if not isinstance(item, pytest.Function):
        return True
    known, counted = _names(item.path)
    name = item.cls.__name__ if item.cls is not None else item.originalname
    return name not in known or not counted.isdisjoint({name, *item.fixturenames})


def mentions_counts(path: Path) -> bool:
    """Whether a file imports what is counted."""
    text = path.read_text(encoding="utf-8")
    return any(module in text for module in COUNTED)


@cache
def _names(path: Path) -> tuple[frozenset[str], frozenset[str]]:
    return names_of(path.read_text(encoding="utf-8"))


def names_of(source: str) -> tuple[frozenset[str], frozenset[str]]:
    """Names that a module defines or imports, and those of them that depend on counts, however indirectly."""
    uses: dict[str, set[str]] = {}
    counted: set[str] = set()
    for statement in ast.parse(source).body:
        for name, whole in _imported(statement):
            uses.setdefault(name, set())
            if whole.startswith(COUNTED) and name != SAYS_SO_ITSELF:
                counted.add(name)
        used = set(_used(statement))
        for name in _defined(statement):
            uses.setdefault(name, set()).update(used)
    before = -1
    while before != len(counted):
        before = len(counted)
        counted |= {name for name, used in uses.items() if not used.isdisjoint(counted)}
    return frozenset(uses), frozenset(counted)


def _imported(statement: ast.stmt) -> Iterator[tuple[str, str]]:
    """Names that a statement imports, each with the whole path of what it stands for."""
    for node in ast.walk(statement):
        if isinstance(node, ast.Import):
            yield from ((one.asname or one.name.partition(".")[0], one.name) for one in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from ((one.asname or one.name, f"{node.module}.{one.name}") for one in node.names)


def _defined(statement: ast.stmt) -> Iterable[str]:
    if isinstance(statement, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        return [statement.name]
    return [
        node.id for node in ast.walk(statement) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)
    ]  # fmt: skip


def _used(statement: ast.stmt) -> Iterator[str]:
    """Names that a statement reads, and those of fixtures that a function asks for."""
    for node in ast.walk(statement):
        if isinstance(node, ast.Name):
            yield node.id
        elif isinstance(node, ast.arg):
            yield node.arg
