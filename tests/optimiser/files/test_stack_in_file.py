"""One stack of a damper file is written anew; comments, order and every other figure stay."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from optimiser.errors import InputError
from optimiser.files.stack_in_file import with_stack_lines
from optimiser.files.stack_text import shims_from_lines
from tests.helpers.paths import STIFF_SHOP

FILES = sorted((STIFF_SHOP / "dampers").glob("*.toml"))
LINES = ["2 of 20x0.10", "18x0.15", "9x0.30"]
NEW = shims_from_lines(LINES, hole_mm=8.0)


def stacks(text: str) -> list[dict[str, object]]:
    return [stack for valve in tomllib.loads(text)["valve"] for stack in valve.get("stack", ())]


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.stem))
def test_every_other_line_of_every_damper_stays_as_it_was(file: Path) -> None:
    text = file.read_text(encoding="utf-8")
    for place, stack in enumerate(stacks(text)):
        written = with_stack_lines(text, str(stack["name"]), NEW, hole=8000, where="x.toml")
        expected = stacks(text)
        expected[place] = {**stack, "shims": LINES}
        assert stacks(written) == expected
        shown = str(stack["shims"])
        others = [
            line for line in text.splitlines() if line.strip(' ",') not in shown and "shims" not in line
        ]
        assert [line for line in others if line not in written.splitlines()] == []


def test_a_stack_that_is_not_there_is_refused_by_name_and_file() -> None:
    text = FILES[0].read_text(encoding="utf-8")
    with pytest.raises(InputError, match=r"x\.toml: got 0 stacks named 'nowhere', expected one"):
        with_stack_lines(text, "nowhere", NEW, hole=8000, where="x.toml")
