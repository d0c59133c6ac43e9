"""A stiff shop to type commands into, and a way to type them that sees what a user would see."""

import sys
from pathlib import Path

import pytest

from optimiser.cli import main
from tests.helpers.command_line import Seen, Typed
from tests.helpers.stiff_shop import lay_out


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    lay_out(tmp_path / "shop")
    monkeypatch.chdir(tmp_path / "shop")
    return tmp_path / "shop"


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Typed:
    def run(*words: object) -> Seen:
        monkeypatch.setattr(sys, "argv", ["shimwright", *map(str, words)])
        monkeypatch.setenv("COLUMNS", "100")
        with pytest.raises(SystemExit) as ended:
            main()
        out, err = capsys.readouterr()
        assert isinstance(ended.value.code, int)
        return Seen(ended.value.code, out, err)

    return run
