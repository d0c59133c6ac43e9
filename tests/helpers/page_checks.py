"""What is looked at on any page in a browser: who is kept out, what is cut or lost, what a finger cannot hit."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from tests.helpers.page_layout import LOOK

if TYPE_CHECKING:
    from playwright.sync_api import Page

FINGER: Final = 44
"""Least side of what a finger hits. WCAG 2.2, success criterion 2.5.5, target size (enhanced). [px]"""

USUAL_TEXT: Final = 16
"""A browser's text before anybody changes it. [px]"""

_SMALL = """least => [...document.querySelectorAll(
    'button, summary, select, .button, nav a, .jobs a, .crumbs a, .tabs a, label.pick, label.inline, ' +
    'input:not([type=hidden]):not([type=radio]):not([type=checkbox])')]
  .map(e => [e, e.getBoundingClientRect()])
  .filter(([e, box]) => box.width > 0 && (box.height < least - 0.5 || box.width < least - 0.5))
  .map(([e, box]) => `${e.tagName} ${e.innerText || e.name}: ${box.width.toFixed()} x ${box.height.toFixed()}`)"""


def kept_out(page: Page) -> list[str]:
    """What axe finds on a page: rule, and where."""
    from axe_playwright_python.sync_playwright import Axe

    if not page.evaluate("'axe' in window"):
        page.evaluate(Axe().axe_script)
    found = page.evaluate("axe.run({resultTypes: ['violations']}).then(one => one.violations)")
    return [f"{one['id']}: {node['target']}" for one in found for node in one["nodes"]]


def lost(page: Page) -> list[str]:
    """Text that is cut by the page or by its drawing, or lies on other text; a page that is wider than its window."""
    look = f"({LOOK})(document.documentElement.clientWidth).faults"
    folded: list[str] = page.evaluate(look)
    closed = "[...document.querySelectorAll('details:not([open])')]"
    page.evaluate(f"window.folded = {closed}; folded.forEach(one => {{ one.open = true; }})")
    unfolded: list[str] = page.evaluate(look)
    page.evaluate("folded.forEach(one => { one.open = false; })")
    return [*folded, *unfolded]


def too_small(page: Page) -> list[str]:
    """What is smaller than a finger; links inside a sentence are not."""
    found: list[str] = page.evaluate(_SMALL, FINGER)
    return found


def with_text_at(page: Page, share: float) -> None:
    """Let a browser show pages with larger text and nothing else larger, as its user's settings may ask."""
    session = page.context.new_cdp_session(page)  # holds for as long as the page's context is there
    size = round(USUAL_TEXT * share)
    session.send("Page.setFontSizes", {"fontSizes": {"standard": size, "fixed": round(13 * share)}})
    page.reload()
    html = page.evaluate("parseFloat(getComputedStyle(document.documentElement).fontSize)")
    assert html == size, f"text is {html} px, not {size}"


def one_of_each(paths: Iterable[str]) -> list[str]:
    """Of addresses that differ in a name alone, the first."""
    kinds: dict[str, str] = {}
    for path in paths:
        place, _, query = path.partition("?")
        kind = re.sub(r"^/(jobs|dampers|counter)/[^/]+", r"/\1/*", place)
        kind = re.sub(r"/\d+$", "/*", kind)
        kinds.setdefault(kind + "?" + ",".join(re.findall(r"(\w+)=", query)), path)
    return list(kinds.values())
