"""The one way that a file of the user is read: a bounded number of bytes, in a bounded time."""

from __future__ import annotations

import os
import select
import stat
import time
from collections.abc import Callable
from pathlib import Path
from typing import Final

from optimiser.errors import InputError

LARGEST_FILE: Final = 5_000_000
"""More than any shop writes by hand. [bytes]"""

PATIENCE: Final = 10.0
"""How long a pipe may keep silent about its end. [s]"""

SHORT: Final = 0.01
"""Between two looks at a file that has nothing yet. [s]"""

NOT_WAITING: Final = getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
"""Some systems have only the one, others only the other."""

PIECE: Final = 1 << 16
"""Read at a time, as much as a pipe holds. [bytes]"""


def _no_hint() -> str:
    return " Check the spelling and the folder."


def read_bytes(
    path: Path, *, what: str, hint: Callable[[], str] = _no_hint, largest: int = LARGEST_FILE
) -> bytes:
    """What a file or a pipe holds.

    Parameters
    ----------
    path : of the file; a pipe will do, a folder or a device will not.
    what : what is expected, for messages, as ``a damper file``.
    hint : gives more words for a file that is not there.
    largest : most that is read. [bytes]

    Raises
    ------
    InputError
        When it is missing, a folder, a device, too large, or does not end in time.
    """
    try:
        # Without O_NONBLOCK a pipe that nobody writes to would hold up the opening itself.
        handle = os.open(path, os.O_RDONLY | NOT_WAITING)
    except FileNotFoundError:
        raise InputError(f"{path}: no such file; expected {what}.{hint()}") from None
    except (OSError, ValueError) as error:
        raise InputError(f"{path}: cannot be read ({reason_of(error)}); expected {what}.") from None
    try:
        _refuse_what_is_no_file(path, os.fstat(handle), what, largest)
        return _whole(handle, path, what, largest)
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({reason_of(error)}); expected {what}.") from None
    finally:
        os.close(handle)


def reason_of(error: OSError | ValueError) -> str:
    """Why the system refused, in its own words."""
    return (error.strerror if isinstance(error, OSError) else None) or str(error)


def _refuse_what_is_no_file(path: Path, found: os.stat_result, what: str, largest: int) -> None:
    if stat.S_ISDIR(found.st_mode):
        raise InputError(f"{path}: got a folder, expected {what}. Name the file inside it.")
    if stat.S_ISCHR(found.st_mode) or stat.S_ISBLK(found.st_mode):
        raise InputError(f"{path}: got a device, expected {what}. Name a file.")
    if found.st_size > largest:
        raise InputError(_too_large(path, what, largest))


def _whole(handle: int, path: Path, what: str, largest: int) -> bytes:
    parts: list[bytes] = []
    size, end = 0, time.monotonic() + PATIENCE
    while True:
        part = _part(handle, end)
        if part is None:
            raise InputError(
                f"{path}: got no end of it within {PATIENCE:g} seconds, expected {what}. Is it a pipe that "
                "nobody writes to? Write to a file first, and name that."
            )
        if not part:
            return b"".join(parts)
        parts.append(part)
        size += len(part)
        if size > largest:
            raise InputError(_too_large(path, what, largest))


def _part(handle: int, end: float) -> bytes | None:
    """The next piece; nothing at the end of the file, None when time is up before there is any."""
    while time.monotonic() < end:
        if stat.S_ISFIFO(os.fstat(handle).st_mode) and not _ready(handle, end):
            return None
        try:
            return os.read(handle, PIECE)
        except BlockingIOError:
            time.sleep(SHORT)
    return None


def _ready(handle: int, end: float) -> bool:
    """Whether a pipe says anything, its end included; one that nobody wrote to reads as ended at once."""
    return bool(select.select([handle], [], [], max(end - time.monotonic(), 0.0))[0])


def _too_large(path: Path, what: str, largest: int) -> str:
    return (
        f"{path}: got more than {largest / 1e6:g} MB, expected {what} under it. "
        "Check that this is the right file."
    )
