"""The stiff shop of the tests, copied out for a test to work in."""

from __future__ import annotations

import shutil
from pathlib import Path

from tests.helpers.paths import STIFF_SHOP


def lay_out(folder: Path) -> None:
    """Copy every file of the stiff shop into a folder, made if it is not there."""
    shutil.copytree(STIFF_SHOP, folder, dirs_exist_ok=True)
