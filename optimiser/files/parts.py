"""Files on their way: names that no other run has, put in place in one step, found again after a kill."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import re
import secrets
import socket
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Final

_PART: Final = re.compile(r"\..+\.([0-9a-f]{8})-([0-9]+)-[0-9a-f]{8}\.part(?:-wal|-shm|-journal)?")
_HERE: Final = hashlib.blake2b(socket.gethostname().encode(), digest_size=4).hexdigest()
_OLD: Final = 24 * 3600
"""Age from which what another machine left is taken for abandoned. [s]"""
_DEEP: Final = 2
_MOST_FOLDERS: Final = 1000
_NO_LINKS: Final = {errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS}


def part_of(path: Path) -> Path:
    """A name beside a file for what becomes that file: hidden, and of this run alone."""
    return path.with_name(f".{path.name[:180]}.{_HERE}-{os.getpid()}-{secrets.token_hex(4)}.part")


def put_new(part: Path, path: Path) -> None:
    """Give a finished part its name, unless something has that name already.

    Raises
    ------
    FileExistsError
        When the name is taken, also by a link that leads nowhere; the part is as it was.
    """
    try:
        os.link(part, path, follow_symlinks=False)
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        # A disk without links: the name is taken first, so that nobody else takes it.
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        part.replace(path)
    # From here on the file is there whole; what fails now does not make it otherwise.
    with contextlib.suppress(OSError):
        part.unlink(missing_ok=True)
        synchronise_folder(path)


def synchronise(path: Path) -> None:
    """Wait until a file is on the disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def synchronise_folder(path: Path) -> None:
    """Wait until a file's name is on the disk, where a folder can be waited for."""
    if os.name == "posix":
        synchronise(path.parent)


def remove_part(part: Path) -> None:
    """Remove a part and what a database keeps beside it."""
    for ending in ("", "-wal", "-shm", "-journal"):
        part.with_name(part.name + ending).unlink(missing_ok=True)


def abandoned_parts(folder: Path) -> tuple[Path, ...]:
    """Parts that a killed run left in a folder or, two deep, in the folders in it."""
    return tuple(
        sorted(
            path
            for inside in _folders(folder)
            for path in inside.iterdir()
            if (match := _PART.fullmatch(path.name)) and _is_abandoned(path, match[1], int(match[2]))
        )
    )


def _folders(folder: Path) -> Iterator[Path]:
    level, found = [folder], 0
    for _ in range(_DEEP + 1):
        below: list[Path] = []
        for inside in level:
            if found == _MOST_FOLDERS or not os.access(inside, os.R_OK | os.X_OK):
                continue
            found += 1
            yield inside
            below += [path for path in inside.iterdir() if path.is_dir() and not path.is_symlink()]
        level = sorted(below)


def _is_abandoned(path: Path, machine: str, process: int) -> bool:
    if machine == _HERE and os.name == "posix":
        return not _runs(process)
    try:
        return time.time() - path.lstat().st_mtime > _OLD
    except OSError:
        return False


def _runs(process: int) -> bool:
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except PermissionError:
        return True
    return True
