"""Names of pictures that are written beside a file: after what they show, so that each has its own."""

from __future__ import annotations

import re
from pathlib import Path


def picture_beside(file: Path, *shown: str) -> Path:
    """Where a picture goes when nobody says.

    >>> str(picture_beside(Path("dampers/tarn.toml"), "compression stack", "lift"))
    'dampers/tarn_compression_stack_lift.svg'

    Parameters
    ----------
    file : what it is drawn from.
    shown : what it shows of it, in words.
    """
    words = (re.sub(r"\W+", "_", word).strip("_") for word in (file.stem, *shown))
    return file.with_name("_".join(filter(None, words)) + ".svg")
