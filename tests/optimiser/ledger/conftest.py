"""A small shop that the ledger's tests work in."""

import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.helpers import ledger_shop


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """Give the folder of a shop with four of A, two of B, one of C and none of D."""
    ledger_shop.new_shop(tmp_path)
    return tmp_path


@pytest.fixture
def fast_folder() -> Iterator[Path]:
    """Give a folder in memory where there is one, for tests whose thousands of commits need no disk."""
    memory = Path("/dev/shm")  # noqa: S108
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as folder:
        yield Path(folder)
