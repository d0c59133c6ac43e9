"""Files written whole or not at all."""

from __future__ import annotations

import contextlib
import os
import stat
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType

from optimiser.errors import InputError
from optimiser.files.parts import part_of, put_new, remove_part, synchronise_folder


def write_whole(path: Path, text: str) -> None:
    """Write a text file that is there wholly or not at all, also after a power cut.

    Raises
    ------
    InputError
        When the folder cannot be written; what stood at the place before still stands.
    """
    with Draft(path) as draft:
        draft.fill(text)
        draft.put()


def write_new_bytes(path: Path, data: bytes) -> None:
    """Write a file that came from elsewhere, as it came; nothing that is there is written over.

    Raises
    ------
    FileExistsError
        When the name is taken.
    InputError
        When the folder cannot be written.
    """
    part = part_of(path)
    try:
        with part.open("xb") as handle:
            handle.write(data)
            handle.flush()
            os.fsync(handle.fileno())
        put_new(part, path)
    except FileExistsError:
        raise
    except OSError as error:
        raise InputError(
            f"{path}: cannot be written ({error.strerror}). Free the space or choose another place."
        ) from None
    finally:
        with contextlib.suppress(OSError):
            remove_part(part)


class Draft:
    """A file that is begun at once and appears only when it is put in place; use it as a context manager.

    So what can fail is tried before other things change: the folder on entering, the room on the disk by
    :meth:`fill`; what is left for :meth:`put` is to give the file its name.

    Parameters
    ----------
    path : where the file will be. A link is written through, to the file that it leads to. A file that is
        there keeps its rights; a new one has those that the user's mask leaves.

    Raises
    ------
    InputError
        When the place cannot be written, and by no fault of what is there: it is as it was.
    """

    def __init__(self, path: Path) -> None:
        self._named = path
        with self._in_words():
            self._target = Path(os.path.realpath(path))
            self._mode = _mode_of(self._target, path)
            self._part = part_of(self._target)
            rights = 0o666 if self._mode is None else self._mode
            self._handle: int | None = os.open(self._part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, rights)

    def __enter__(self) -> Draft:
        """Hand out the draft itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Throw away what was not put in place."""
        self._close()
        with contextlib.suppress(OSError):
            remove_part(self._part)

    def fill(self, text: str) -> None:
        """Write the text, through to the disk, without showing it yet."""
        with self._in_words():
            assert self._handle is not None  # noqa: S101 (filled once, before it is put)
            left = memoryview(text.encode("utf-8"))
            while left:
                left = left[os.write(self._handle, left) :]
            os.fsync(self._handle)
            if self._mode is not None and hasattr(os, "fchmod"):
                os.fchmod(self._handle, self._mode)
            self._close()

    def put(self) -> None:
        """Give the file its name."""
        with self._in_words():
            self._part.replace(self._target)
        # The file is there whole; a folder that cannot be waited for does not make it otherwise.
        with contextlib.suppress(OSError):
            synchronise_folder(self._target)

    def _close(self) -> None:
        if self._handle is not None:
            handle, self._handle = self._handle, None
            os.close(handle)

    @contextlib.contextmanager
    def _in_words(self) -> Iterator[None]:
        try:
            yield
        except (OSError, RuntimeError, UnicodeEncodeError) as error:
            why = getattr(error, "strerror", None) or str(error)
            raise InputError(
                f"{self._named}: cannot be written ({why}). Free the space or choose another place; "
                "what was there is as it was."
            ) from None


def _mode_of(target: Path, named: Path) -> int | None:
    """Rights of the file that is there; None when there is none."""
    try:
        there = target.stat()
    except FileNotFoundError:
        return None
    if not stat.S_ISREG(there.st_mode):
        kind = "a folder" if stat.S_ISDIR(there.st_mode) else "a device or a pipe"
        raise InputError(f"{named}: got {kind}, expected the name of a file. Choose another place.")
    return stat.S_IMODE(there.st_mode)
