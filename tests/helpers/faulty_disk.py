"""A process on a faulty disk: types commands into a shop, and at one of its calls the disk fails or the process dies.

Started with ``faulty_disk.c`` before the C library. Told over its standard input which command to type, in which
folder, and at which call what happens; it answers with one JSON line each.
"""

from __future__ import annotations

import contextlib
import ctypes
import io
import json
import os
import shutil
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from typing import Any
from unittest.mock import patch

from tests.helpers.paths import ROOT

SOURCE = Path(__file__).with_suffix(".c")
KILL = -1
JOB = "jobs/a_more_support.toml"


class FaultyDisk:
    """The process, from outside.

    Parameters
    ----------
    folder : where what is compiled goes.
    """

    def __init__(self, folder: Path) -> None:
        library = folder / "faulty_disk.so"
        compiler = shutil.which("cc") or "cc"
        subprocess.run([compiler, "-shared", "-fPIC", "-O1", "-o", library, SOURCE, "-ldl"], check=True)
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.helpers.faulty_disk"],
            cwd=ROOT,
            env=os.environ | {"LD_PRELOAD": str(library), "FAULTY_DISK": str(library), "COLUMNS": "100"},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    @staticmethod
    def is_possible() -> bool:
        """Whether this machine has what it takes: a C compiler, and a loader that takes a library first."""
        return sys.platform == "linux" and shutil.which("cc") is not None

    def type(
        self, folder: Path, *words: str, at: int = 0, error: int = 0, lasting: bool = False
    ) -> dict[str, Any]:
        """Type a command in a folder.

        Parameters
        ----------
        folder : where it works; only calls on what is in there are counted.
        words : the command.
        at : the call that fails, from 1; 0 for none.
        error : its error number, or :data:`KILL`.
        lasting : whether every later call fails too.

        Returns
        -------
        dict
            ``code``, ``said`` and ``calls``; ``killed`` alone for a process that died.
        """
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        order = {"folder": str(folder), "words": words, "at": at, "error": error, "lasting": lasting}
        self._process.stdin.write(json.dumps(order) + "\n")
        self._process.stdin.flush()
        return json.loads(self._process.stdout.readline())

    def close(self) -> None:
        """End it."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.close()
        self._process.wait(timeout=60)
        self._process.stdout.close()


def _typed(order: dict[str, Any]) -> dict[str, Any]:
    """Type it in a child, which may die."""
    ready, answer = os.pipe()
    child = os.fork()
    if child == 0:
        with contextlib.suppress(BaseException):
            os.write(answer, json.dumps(_in_child(order)).encode())
        os._exit(0)
    os.close(answer)
    with os.fdopen(ready) as pipe:
        said = pipe.read()
    os.waitpid(child, 0)
    found: dict[str, Any] = json.loads(said) if said else {"killed": True}
    return found


def _in_child(order: dict[str, Any]) -> dict[str, Any]:
    from optimiser.cli import main

    disk = ctypes.CDLL(os.environ["FAULTY_DISK"])
    disk.disk_calls.restype = ctypes.c_long
    os.chdir(order["folder"])
    said = io.StringIO()
    code: object = None
    sys.argv = ["shimwright", *order["words"]]
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        disk.disk_arm(
            order["folder"].encode(), ctypes.c_long(order["at"]), order["error"], int(order["lasting"])
        )
        try:
            main()
        except SystemExit as ended:
            code = ended.code
        finally:
            disk.disk_disarm()
    return {"code": code, "said": said.getvalue(), "calls": disk.disk_calls()}


def main() -> None:
    """Answer until there is nothing left to read; the search is stood in for, it has tests of its own."""
    from optimiser.cli import COMMANDS, build_command, cli
    from optimiser.files.job_reader import read_job
    from optimiser.ledger.job_record import job_record
    from tests.optimiser.cli.test_ledger_commands import STACK, a_plan

    for name in COMMANDS:
        cli.get_command(None, name)  # type: ignore[arg-type]
    for name in ("backup", "restore"):
        import_module(f"optimiser.ledger.{name}")
    for line in sys.stdin:
        order = json.loads(line)
        job = Path(order["folder"]) / JOB
        stack = [(k.outer / 1000, k.thickness / 1000) for k in job_record(read_job(job)).stacks[STACK]]
        with (
            patch.object(build_command, "_plan", lambda *_, **__: None),
            patch.object(build_command, "_answer", lambda _, stack=stack: ((None, None), a_plan(stack))),
            patch.object(build_command, "_sheet", lambda *_: "<p>sheet</p>" * 4000),
        ):
            answer = _typed(order)
        sys.stdout.write(json.dumps(answer) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
