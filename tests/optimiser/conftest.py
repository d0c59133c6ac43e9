"""A way to type commands that sees what a user would see."""

import sys

import pytest

from optimiser.cli import main
from tests.helpers.command_line import Seen, Typed


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
