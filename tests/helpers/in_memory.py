"""Temporary folders in memory: a ledger syncs each step to its disk, and thousands of steps wait longer than they work."""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path
from typing import Final

import psutil

MEMORY: Final = Path("/dev/shm")  # noqa: S108 (what Linux calls it)

ROOM: Final = 2**30
"""What must be free there, several times what a run has there at a time. [bytes]"""

LEFT: Final = 3 * 2**30
"""What must be available to the run itself besides. [bytes]"""


def keep_in_memory() -> None:
    """Let this process and those that it begins make temporary folders there, unless TMPDIR names a place."""
    if "TMPDIR" in os.environ or not os.access(MEMORY, os.W_OK):
        return
    if shutil.disk_usage(MEMORY).free > ROOM and psutil.virtual_memory().available > ROOM + LEFT:
        os.environ["TMPDIR"] = str(MEMORY)
        tempfile.tempdir = None  # asked for before, it would stand
