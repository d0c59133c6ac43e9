"""The house keeps its own rules: layers, types, top level, and no doors that lead nowhere."""

import inspect
import re
import statistics
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

import damping_model
import optimiser
from tests.helpers.counts import thorough_only
from tests.helpers.paths import ROOT

SOURCES = [
    *ROOT.glob("optimiser/**/*.py"),
    *ROOT.glob("damping_model/**/*.py"),
    *ROOT.glob("inventory_demo/**/*.py"),
]
LONGEST = 300
MIDDLE = 130
"""Lines of the longest module, and at most of the middle one of the two packages."""
QUANTITY = re.compile(r"\bfloat\b|NDArray|ArrayLike|Floats")
UNIT = re.compile(r"\[[^\]]+\]")


def test_the_linter_finds_nothing_and_so_no_layer_is_crossed() -> None:
    pytest.importorskip("ruff")
    found = subprocess.run(
        [sys.executable, "-m", "ruff", "check", "--no-cache", "."],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert found.returncode == 0, found.stdout


@thorough_only("the type checker takes as long as a hundred other tests")
def test_the_types_hold_in_strict_mode() -> None:
    pytest.importorskip("mypy")
    found = subprocess.run(
        [sys.executable, "-m", "mypy"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert found.returncode == 0, found.stdout


def test_no_module_is_so_long_that_it_needs_a_map() -> None:
    long = {str(path.relative_to(ROOT)): lines for path in SOURCES if (lines := _lines(path)) > LONGEST}
    assert long == {}


def test_half_of_the_modules_fit_on_two_screens() -> None:
    lengths = [
        lines
        for path in SOURCES
        if (lines := _lines(path)) > 5 and path.relative_to(ROOT).parts[0] != "inventory_demo"
    ]
    assert statistics.median(lengths) <= MIDDLE


@pytest.mark.parametrize("package", [damping_model, optimiser], ids=lambda package: package.__name__)
def test_every_public_name_is_explained_and_its_quantities_have_units(package: ModuleType) -> None:
    for name in package.__all__:
        public = getattr(package, name)
        if not (inspect.isclass(public) or inspect.isroutine(public)):
            continue
        said = inspect.getdoc(public)
        assert said, name
        if inspect.isclass(public) and issubclass(public, Exception):
            continue
        if QUANTITY.search(str(inspect.signature(public))):
            assert UNIT.search(said), f"{name} takes or gives a quantity and names no [unit]"


def test_nothing_is_left_half_done_by_its_own_words() -> None:
    words = re.compile("TO" + "DO|FIX" + "ME|X" + "XX|NotImplemented" + "Error|for " + "now")
    marked = [
        str(path.relative_to(ROOT)) for path in SOURCES if words.search(path.read_text(encoding="utf-8"))
    ]
    assert marked == []


def test_the_top_level_holds_what_the_house_promises_and_nothing_else() -> None:
    if not (ROOT / ".git").exists():
        pytest.skip("not a checkout")
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    visible = {name.split("/")[0] for name in tracked.splitlines() if not name.startswith(".")}
    assert visible == {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "pyproject.toml",
        "optimiser",
        "damping_model",
        "tests",
        "inventory_demo",
        "docs",
    }


def _lines(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())
