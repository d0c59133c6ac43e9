"""The first command that anybody types: what it says to do next can be done."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimiser.cli import cli
from tests.helpers.counts import thorough_only


@thorough_only("the pages are tried in the same way")
def test_the_next_step_can_be_typed_where_the_first_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    run = CliRunner().invoke(cli, ["demo", "a_shop"], catch_exceptions=False)
    assert run.exit_code == 0
    command = run.stdout.rsplit("try the other jobs: ", 1)[1].splitlines()[0]
    assert run.stdout.rstrip().endswith("bench --shop a_shop")
    following = CliRunner().invoke(cli, shlex.split(command)[1:], catch_exceptions=False)
    assert following.exit_code == 0
    assert "adjusters alone reach the goal" in following.stdout

    sheet = Path("a_shop/jobs/a_more_support.html").read_text(encoding="utf-8")
    assert "OUT</b>" in sheet
    assert "As it is: what leaves is dashed</figcaption>" in sheet

    again = CliRunner().invoke(cli, ["demo", "a_shop"], standalone_mode=False)
    assert again.exit_code != 0
    assert "demo another_shop" in str(again.exception)
