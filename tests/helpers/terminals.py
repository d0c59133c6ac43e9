"""Commands at terminals of their own, as a person sits before them."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Protocol

import pexpect

from tests.helpers.paths import SITE


class Start(Protocol):
    """Types a command at a new terminal."""

    def __call__(self, *words: str) -> pexpect.spawn: ...


@contextmanager
def terminals(folder: Path, *, timeout: float) -> Iterator[Start]:
    """Start commands in a folder; what was left open is closed at the end."""
    running = []

    def start(*words: str) -> pexpect.spawn:
        child = pexpect.spawn(
            sys.executable,
            ["-c", "from optimiser.cli import main; main()", *words],
            cwd=folder,
            env=os.environ | {"PYTHONPATH": str(SITE), "TERM": "dumb", "COLUMNS": "200"},
            encoding="utf-8",
            timeout=timeout,
            dimensions=(50, 200),
        )
        child.delaybeforesend = None
        running.append(child)
        return child

    try:
        yield start
    finally:
        for child in running:
            child.close(force=True)
