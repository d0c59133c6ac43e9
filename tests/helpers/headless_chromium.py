"""The system's own browser, if there is one."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Browser

PATH = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))),
    None,
)


@contextmanager
def chromium() -> Iterator[Browser]:
    """Start it, and end it with the block."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=PATH, args=["--no-sandbox"])
        try:
            yield browser
        finally:
            browser.close()
