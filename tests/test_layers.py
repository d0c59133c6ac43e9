"""Imports go one way through the layers, and what crosses a layer is plain and in SI."""

from __future__ import annotations

import ast
import graphlib
import os
import shutil
import subprocess
import sys
import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping, Set
from functools import cache
from pathlib import Path
from typing import Final

import grimp
import pytest

from tests.helpers.paths import ROOT

PACKAGES: Final = ("optimiser", "damping_model")

FORBIDDEN: Final = {
    "packages": ("damping_model/units.py", "import optimiser.errors"),
    "optimiser": ("optimiser/model/stock.py", "def late(): from optimiser.search import solve"),
    "search": ("optimiser/search/goal_metrics.py", "def late(): from optimiser.search.solve import solve"),
    "damping_model": ("damping_model/plates/grid.py", "import damping_model.damper.damper"),
}
"""For each contract, a module and an import in it that breaks the contract."""

FILES_AND_PEOPLE: Final = ("optimiser/files", "optimiser/documents", "optimiser/actions", "optimiser/cli")
"""Folders that read what people write, and write what programs read."""


def _lint(tree: Path, *options: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [
            sys.executable,
            "-c",
            "from importlinter.cli import lint_imports_command as f; f()",
            "--no-cache",
            *options,
        ],
        cwd=tree,
        env=os.environ | {"PYTHONPATH": str(tree)},
        capture_output=True,
        text=True,
        check=False,
    )


def test_every_contract_about_imports_is_kept() -> None:
    found = _lint(ROOT)
    assert found.returncode == 0, found.stdout + found.stderr


def test_no_contract_looks_away() -> None:
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    contracts = tomllib.loads(text)["tool"]["importlinter"]["contracts"]
    assert {contract["id"] for contract in contracts} == set(FORBIDDEN)
    assert not [contract["id"] for contract in contracts if "ignore_imports" in contract]
    assert all(contract["exhaustive"] for contract in contracts if contract["type"] == "layers")


@pytest.mark.parametrize("contract", FORBIDDEN)
def test_a_forbidden_import_breaks_its_contract(contract: str, tmp_path: Path) -> None:
    for package in PACKAGES:
        shutil.copytree(ROOT / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    assert _lint(tmp_path, "--contract", contract).returncode == 0
    module, line = FORBIDDEN[contract]
    with (tmp_path / module).open("a", encoding="utf-8") as file:
        file.write(f"\n{line}\n")
    found = _lint(tmp_path, "--contract", contract)
    assert found.returncode == 1, found.stdout + found.stderr
    assert "1 broken" in found.stdout


def test_no_module_imports_itself_by_a_detour() -> None:
    graph = grimp.build_graph(*PACKAGES, cache_dir=None)
    imports = {module: graph.find_modules_directly_imported_by(module) for module in graph.modules}
    assert len(imports) > 200
    assert _circle(imports) is None


def test_a_circle_is_seen() -> None:
    assert _circle({"a": {"b"}, "b": {"c"}, "c": {"a"}}) is not None


def _circle(imports: Mapping[str, Set[str]]) -> list[str] | None:
    try:
        graphlib.TopologicalSorter(imports).prepare()
    except graphlib.CycleError as error:
        return list(error.args[1])
    return None


def test_only_files_documents_and_command_line_import_pydantic() -> None:
    users = {path for path, tree in _modules() if any(_imports(node, "pydantic") for node in ast.walk(tree))}
    assert [path for path in sorted(users) if not path.startswith(FILES_AND_PEOPLE)] == []
    assert users


def test_millimetres_stay_with_files_and_people() -> None:
    """Elsewhere they stand only in a sentence that is written, or in a function that says so in its name."""
    reader = "damping_model/stack/reference_cases.py"  # of the file that 'verify' holds the model against
    inside = (*FILES_AND_PEOPLE, "optimiser/report", "damping_model/units.py", reader)
    found = [
        f"{path}:{line}"
        for path, tree in _modules()
        if not path.startswith(inside)
        for line in _lengths(tree)
    ]
    assert found == []


def test_millimetres_in_a_calculation_are_seen() -> None:
    module = (
        "a = f'{h / MILLIMETRE} mm'\nb = 2 * MILLIMETRE\ndef from_millimetres(h): return h * MILLIMETRE\n"
    )
    assert list(_lengths(ast.parse(module))) == [2]


def test_no_two_classes_share_a_name() -> None:
    names = Counter(
        node.name for _, tree in _modules() for node in tree.body if isinstance(node, ast.ClassDef)
    )
    assert [name for name, count in names.items() if count > 1] == []


@cache
def _modules() -> list[tuple[str, ast.Module]]:
    paths = [path for package in PACKAGES for path in sorted((ROOT / package).rglob("*.py"))]
    return [
        (path.relative_to(ROOT).as_posix(), ast.parse(path.read_text(encoding="utf-8"))) for path in paths
    ]


def _imports(node: ast.AST, library: str) -> bool:
    names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
    names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
    return any(name == library or name.startswith(f"{library}.") for name in names)


def _lengths(node: ast.AST) -> Iterator[int]:
    """Lines that calculate in millimetres."""
    if isinstance(node, ast.JoinedStr) or (isinstance(node, ast.FunctionDef) and "millimetres" in node.name):
        return
    if isinstance(node, ast.Name) and node.id == "MILLIMETRE":
        yield node.lineno
    for child in ast.iter_child_nodes(node):
        yield from _lengths(child)
