"""Make the pictures of docs/how-to/work-in-a-browser.md from the pages themselves: ``python -m tests.bench_pictures``."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Final

from optimiser.files.demo_shop import lay_out
from tests.helpers.bench_browser import Watched, chromium, come_in, served

DOCS: Final = Path(__file__).parents[1] / "docs" / "how-to"
JOB: Final = "a_more_support"
PICTURES: Final = {
    "bench-goal.png": (f"/jobs/{JOB}", 760),
    "bench-answer.png": (f"/jobs/{JOB}/answer", 980),
    "bench-what-if.png": (f"/jobs/{JOB}/what-if?try=out+20x0.10", 800),
}
"""By name: the page, and how much of its height is shown."""


def take(watched: Watched, folder: Path) -> None:
    """Take the pictures of a shop in which the job was searched for."""
    for name, (path, height) in PICTURES.items():
        watched.page.set_viewport_size({"width": 1080, "height": height})
        watched.go(path)
        watched.page.screenshot(path=str(folder / name))


def main() -> None:
    """Lay out a shop, search, and take them."""
    with tempfile.TemporaryDirectory() as folder:
        shop = Path(folder) / "shop"
        lay_out(shop)
        with served(shop) as bench, chromium() as browser:
            watched = come_in(browser.new_context(), bench)
            watched.go("/stock")
            watched.page.get_by_role("button", name="Begin the books").click()
            watched.search(JOB)
            take(watched, DOCS)


if __name__ == "__main__":
    main()
