"""A demo shop to type commands into, and a way to type them that sees what a user would see."""

import sys
from dataclasses import dataclass

import pytest

from optimiser.cli import main
from optimiser.files.demo_shop import lay_out


@dataclass
class Seen:
    """What a command left behind: exit code, standard output, standard error."""

    code: int
    out: str
    err: str


@pytest.fixture
def shop(tmp_path, monkeypatch):
    lay_out(tmp_path / "shop")
    monkeypatch.chdir(tmp_path / "shop")
    return tmp_path / "shop"


@pytest.fixture
def typed(monkeypatch, capsys):
    def run(*words):
        monkeypatch.setattr(sys, "argv", ["shimwright", *map(str, words)])
        monkeypatch.setenv("COLUMNS", "100")
        with pytest.raises(SystemExit) as ended:
            main()
        out, err = capsys.readouterr()
        return Seen(ended.value.code, out, err)

    return run
