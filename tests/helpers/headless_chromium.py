"""Where a browser is found on this machine, if there is one."""

from __future__ import annotations

import shutil

PATH = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))),
    None,
)
