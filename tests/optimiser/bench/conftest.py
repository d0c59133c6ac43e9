"""A demo shop with its pages, and somebody who works there."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from optimiser.files.demo_shop import lay_out
from tests.helpers.bench_browser import Served, chromium, served
from tests.helpers.bench_client import BenchClient

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("bench") / "shop"
    lay_out(folder)
    return folder


@pytest.fixture
def shop(demo_folder: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(demo_folder, tmp_path / "shop"))


@pytest.fixture
def worker(shop: Path) -> BenchClient:
    return BenchClient(shop).come_in()


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as one:
        yield one


@pytest.fixture(scope="module")
def served_shop(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo shop that the bench of a module serves."""
    return Path(shutil.copytree(demo_folder, tmp_path_factory.mktemp("served") / "shop"))


@pytest.fixture(scope="module")
def bench(served_shop: Path) -> Iterator[Served]:
    with served(served_shop) as one:
        yield one
