"""Files written whole or not at all."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from optimiser.errors import InputError


def write_whole(path: Path, text: str) -> None:
    """Write a text file that is there wholly or not at all, also after a power cut.

    Raises
    ------
    InputError
        When the folder cannot be written; what stood at the place before still stands.
    """
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
            Path(name).chmod(0o644)
            Path(name).replace(path)
        except BaseException:
            with contextlib.suppress(OSError):
                Path(name).unlink()
            raise
    except OSError as error:
        raise InputError(
            f"{path}: cannot be written ({error.strerror}). Free the space or choose another place; "
            "nothing was changed."
        ) from None
