"""Where the temporary folders of a run lie."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.helpers import in_memory


class Usage(NamedTuple):
    free: int
    available: int


@pytest.fixture
def chosen(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Stands for memory, on a machine with room; nobody has named another place."""
    monkeypatch.setattr(in_memory, "MEMORY", tmp_path)
    monkeypatch.setattr(tempfile, "tempdir", None)
    monkeypatch.delenv("TMPDIR", raising=False)
    has(monkeypatch, free=2**40, available=2**40)
    return tmp_path


def has(monkeypatch: pytest.MonkeyPatch, *, free: int, available: int) -> None:
    usage = Usage(free, available)
    monkeypatch.setattr("shutil.disk_usage", lambda _: usage)
    monkeypatch.setattr("psutil.virtual_memory", lambda: usage)


def test_they_lie_in_memory_where_there_is_room(chosen: Path) -> None:
    in_memory.keep_in_memory()
    assert tempfile.gettempdir() == str(chosen)


@pytest.mark.parametrize(("free", "available"), [(2**26, 2**40), (2**40, 2**31)])
def test_they_stay_where_they_were_without_it(
    chosen: Path, monkeypatch: pytest.MonkeyPatch, free: int, available: int
) -> None:
    has(monkeypatch, free=free, available=available)
    in_memory.keep_in_memory()
    assert tempfile.gettempdir() != str(chosen)


def test_a_place_that_somebody_names_is_kept(
    chosen: Path, monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory
) -> None:
    named = tmp_path_factory.mktemp("named")
    monkeypatch.setenv("TMPDIR", str(named))
    in_memory.keep_in_memory()
    assert tempfile.gettempdir() == str(named)
