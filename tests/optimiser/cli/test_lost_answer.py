"""An answer that nobody can take: what is said of the ledger is what stands there."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from optimiser.ledger.connection import FILE_NAME
from optimiser.ledger.kept import STANDS
from tests.helpers.ledger_shop import A, everything, new_shop

RUN = (sys.executable, "-c", "from optimiser.cli import main; main()")


def onto_lost_output(where: str, shop: Path, *words: str) -> tuple[int, str]:
    if where == "a full disk":
        out = os.open("/dev/full", os.O_WRONLY)
    else:
        ends, out = os.pipe()
        os.close(ends)
    try:
        done = subprocess.run(
            [*RUN, *words], cwd=shop, stdin=subprocess.DEVNULL, stdout=out, stderr=subprocess.PIPE, text=True,
            timeout=60, check=False,
        )  # fmt: skip
    finally:
        os.close(out)
    return done.returncode, done.stderr


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere no device is always full")
@pytest.mark.parametrize("where", ["a full disk", "a closed pipe"])
@pytest.mark.parametrize("words", [("undo",), ("undo", "--list")], ids=["a step", "a look"])
def test_a_lost_answer_says_that_the_step_stands_exactly_where_it_does(
    where: str, words: tuple[str, ...], tmp_path: Path
) -> None:
    new_shop(tmp_path, {A: 5})
    before = everything(tmp_path / FILE_NAME)
    code, said = onto_lost_output(where, tmp_path, *words)
    changed = everything(tmp_path / FILE_NAME) != before
    assert changed == (words == ("undo",))
    assert (" ".join(STANDS.split()) in " ".join(said.split())) == changed, said
    assert code != 0
    assert "Traceback" not in said
