"""Compiled code that is kept between runs: never older than its source, and not for ever."""

import ast
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import platformdirs
import pytest
from numba.core.caching import UserProvidedCacheLocator

from damping_model.plates import code_cache
from damping_model.plates import jit as physics
from damping_model.ride import jit as ride
from optimiser.search.kernel import jit as search

TOP = Path(physics.__file__).parents[2]
LEAF = """
from numba.extending import register_jitable

@register_jitable
def leaf():
    return 1
"""
ENTRY = """
from damping_model.plates.code_cache import code_folder, compiled_in, is_compiled, source_digest
from tiny.leaf import leaf

FOLDER = code_folder("tiny", source_digest("tiny"))

@compiled_in(FOLDER)
def entry():
    return leaf()
"""
ASK = "from tiny.entry import entry, is_compiled; print(is_compiled(entry), entry(), entry.stats.cache_path)"


@pytest.fixture
def tiny(tmp_path: Path) -> Path:
    """Folder of a package with one compiled entry, and a function in another file that it calls."""
    package = tmp_path / "source" / "tiny"
    package.mkdir(parents=True)
    for name, text in (("__init__", ""), ("leaf", LEAF), ("entry", ENTRY)):
        (package / f"{name}.py").write_text(text)
    return package


def start(code: str, *, where: Sequence[Path], cache: Path | str) -> subprocess.Popen[str]:
    """Begin a process that finds packages in the folders first and keeps compiled code in ``cache``."""
    path = os.pathsep.join(map(str, [*where, TOP]))
    environment = os.environ | {"PYTHONPATH": path, "NUMBA_CACHE_DIR": str(cache)}
    command = [sys.executable, "-c", code]
    return subprocess.Popen(command, env=environment, cwd=where[0], stdout=subprocess.PIPE, text=True)


def told(process: subprocess.Popen[str]) -> list[str]:
    """Words that a process prints, once it has ended well."""
    words, _ = process.communicate(timeout=120)
    assert process.returncode == 0
    return words.split()


def test_a_change_in_a_function_of_another_file_is_seen(tiny: Path, tmp_path: Path) -> None:
    """The entry's own file stays as it was."""
    here: dict[str, Any] = {"where": [tiny.parent], "cache": tmp_path / "cache"}
    assert told(start(ASK, **here))[:2] == ["False", "1"]
    assert told(start(ASK, **here))[:2] == ["True", "1"]
    (tiny / "leaf.py").write_text(LEAF.replace("return 1", "return 2"))
    assert told(start(ASK, **here))[:2] == ["False", "2"]


def test_a_change_in_the_real_kernel_is_seen(tmp_path: Path) -> None:
    """The first look over packs counts as bent what reaches past the clamp by more than a figure in the grid's file."""
    shutil.copytree(
        TOP / "damping_model", tmp_path / "damping_model", ignore=shutil.ignore_patterns("__pycache__")
    )
    ask = (
        "import numpy as np; from damping_model.plates.input_check import check_input;"
        "print(check_input(np.array([[0.02, 1.0, 1.0, 1.0, 1e-3]]), 0.01, np.ones(1)).face)"
    )
    here: dict[str, Any] = {"where": [tmp_path], "cache": tmp_path / "cache"}
    assert told(start(ask, **here)) == ["0"]
    grid = tmp_path / "damping_model" / "plates" / "grid.py"
    before = grid.read_text()
    grid.write_text(before.replace("APART: Final = 1e-9", "APART: Final = 1.0"))
    assert grid.read_text() != before
    assert told(start(ask, **here)) == ["-1"]


def test_two_processes_may_begin_on_an_empty_cache(tiny: Path, tmp_path: Path) -> None:
    """Both give the result, and leave a cache that a third one uses."""
    here: dict[str, Any] = {"where": [tiny.parent], "cache": tmp_path / "cache"}
    for process in [start(ASK, **here) for _ in range(2)]:
        assert told(process)[1] == "1"
    assert told(start(ASK, **here))[:2] == ["True", "1"]


def test_an_installation_that_is_read_only_is_kept_in_the_users_folder(
    tiny: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No folder can be made where a file lies; nothing is needed beside the source."""
    (tiny / "__pycache__").write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "home"))
    here: dict[str, Any] = {"where": [tiny.parent], "cache": ""}
    first, second = (told(start(ASK, **here)) for _ in range(2))
    assert (first[0], second[0]) == ("False", "True")
    assert "shimwright" in Path(first[2]).parts


def test_code_is_kept_where_the_system_keeps_caches(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Unless NUMBA_CACHE_DIR names another folder."""
    monkeypatch.setattr("numba.config.CACHE_DIR", "")
    monkeypatch.setattr(
        platformdirs.PlatformDirs, "user_cache_path", property(lambda dirs: tmp_path / dirs.appname)
    )
    assert code_cache.code_folder("tiny", "1") == tmp_path / "shimwright" / "tiny-1"
    monkeypatch.setattr("numba.config.CACHE_DIR", str(tmp_path / "named"))
    assert code_cache.code_folder("tiny", "1") == tmp_path / "named" / "tiny-1"


def test_folders_of_old_versions_go(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The last few stay, and all that may be in use, and what is not ours."""
    monkeypatch.setattr("numba.config.CACHE_DIR", str(tmp_path))
    hours = {"a": 0.5, "b": 0.9, "c": 2.0, "d": 3.0, "e": 4.0, "f": 5.0}
    for digest, age in hours.items():
        (tmp_path / f"tiny-{digest}").mkdir()
        (tmp_path / f"tiny-{digest}" / "code").write_text("")
        os.utime(tmp_path / f"tiny-{digest}", (time.time() - 3600 * age,) * 2)
    (tmp_path / "other-z").mkdir()
    code_cache.code_folder("tiny", "g")
    left = {path.name for path in tmp_path.iterdir()}
    assert left == {"tiny-a", "tiny-b", "tiny-c", "tiny-d", "tiny-g", "other-z"}


def test_a_version_in_use_stays_however_many_come_after(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Each start tells that its folder is in use."""
    monkeypatch.setattr("numba.config.CACHE_DIR", str(tmp_path))
    for digest in "abcdefg":
        code_cache.code_folder("tiny", digest)
    assert len(list(tmp_path.iterdir())) == 7
    old = code_cache.code_folder("tiny", "a")
    assert old is not None
    os.utime(old, (0, 0))
    code_cache.code_folder("tiny", "a")
    assert time.time() - old.stat().st_mtime < 60


@pytest.mark.parametrize("lost", ["source", "folder", "hook"])
def test_what_cannot_be_kept_is_compiled_all_the_same(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, lost: str
) -> None:
    """Without source to hash, without a folder to write, and with a numba that keeps code by other rules."""
    file = tmp_path / "file"
    file.write_text("")
    monkeypatch.setattr("numba.config.CACHE_DIR", str(file if lost == "folder" else tmp_path))
    digest = code_cache.source_digest("no_such_module" if lost == "source" else "damping_model.units")
    assert (digest == "") is (lost == "source")
    folder = code_cache.code_folder("tiny", digest)
    assert (folder is None) is (lost != "hook")
    if lost == "hook":
        monkeypatch.setattr(UserProvidedCacheLocator, "from_function", classmethod(lambda *_: None))
    function: Callable[[], int] = code_cache.compiled_in(folder)(one)
    assert function() == 1
    assert code_cache.is_compiled(function)
    assert not list(tmp_path.rglob("*.nbi"))


def one() -> int:
    return 1


@pytest.mark.parametrize("sources", [physics.SOURCES, (*search.SOURCES, *physics.SOURCES)])
def test_every_file_that_compiled_code_comes_from_is_hashed(sources: tuple[str, ...]) -> None:
    """Modules that take part import no others of ours."""
    files = {file: module for module in sources for file in code_cache._files(module)}
    for file in files:
        for node in ast.walk(ast.parse(file.read_text())):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith(
                ("damping_model", "optimiser")
            ):
                spec = find_spec(str(node.module))
                assert spec is not None
                assert spec.origin is not None
                assert Path(spec.origin) in files, f"{file} imports {node.module}"


def test_all_that_is_compiled_is_hashed() -> None:
    """No module elsewhere compiles anything."""
    hashed = {
        file
        for module in (*physics.SOURCES, *search.SOURCES, *ride.SOURCES)
        for file in code_cache._files(module)
    }
    for package in ("damping_model", "optimiser"):
        for file in (TOP / package).rglob("*.py"):
            if file not in hashed:
                names = {
                    name.name
                    for node in ast.walk(ast.parse(file.read_text()))
                    if isinstance(node, ast.ImportFrom)
                    for name in node.names
                }
                assert not names & {"njit", "jit", "ENTRY", "CHECKED_ENTRY", "PART", "WRITTEN_IN"}, file
