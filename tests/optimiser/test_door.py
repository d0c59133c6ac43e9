"""The names that people who script import from ``optimiser`` itself."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import optimiser


@pytest.mark.parametrize("name", optimiser.__all__)
def test_every_name_of_the_door_is_there_and_says_what_it_is(name: str) -> None:
    assert getattr(optimiser, name).__doc__


def test_type_checkers_see_the_same_names() -> None:
    module = ast.parse(Path(optimiser.__file__).read_text(encoding="utf-8"))
    block = next(
        node for node in module.body if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
    )
    seen = {alias.name for node in block.body if isinstance(node, ast.ImportFrom) for alias in node.names}
    assert seen == set(optimiser.__all__)
    assert seen <= set(dir(optimiser))


def test_a_name_that_is_not_there_is_refused_as_anywhere() -> None:
    with pytest.raises(AttributeError, match="module 'optimiser' has no attribute 'plan_jbo'"):
        getattr(optimiser, "plan_jbo")  # noqa: B009


def test_the_door_alone_loads_nothing_heavy() -> None:
    code = "import sys, optimiser; print([m for m in ('numpy', 'numba', 'pydantic') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
