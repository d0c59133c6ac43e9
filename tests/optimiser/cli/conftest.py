"""A stiff shop to type commands into."""

from pathlib import Path

import pytest

from tests.helpers.stiff_shop import lay_out


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    lay_out(tmp_path / "shop")
    monkeypatch.chdir(tmp_path / "shop")
    return tmp_path / "shop"
