"""A demo shop with its pages, and somebody who works there."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from optimiser.files.demo_shop import lay_out
from tests.helpers.bench_client import BenchClient


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
