"""Somebody who works a page with the keyboard alone: Tab, Enter, Space, arrows and letters."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from playwright.sync_api import Page

MOST_TABS: Final = 150

_WHERE: Final = """() => {
  const e = document.activeElement, box = e.getBoundingClientRect(), look = getComputedStyle(e);
  const called = e.getAttribute('aria-label') || (e.labels && e.labels[0] ? e.labels[0].innerText : '') || e.innerText || e.name || '';
  return {
    called: called.trim(), body: e === document.body,
    ring: look.outlineStyle !== 'none' && parseFloat(look.outlineWidth) >= 2,
    seen: box.width > 0 && box.bottom > 0 && box.right > 0 && box.top < innerHeight && box.left < innerWidth,
  };
}"""


class Keyboard:
    """The keys, and what they reach.

    Parameters
    ----------
    page : that is worked.
    """

    def __init__(self, page: Page) -> None:
        self._page = page
        self.reached: list[str] = []

    def tab_to(self, words: str) -> None:
        """Go on with Tab until what is called so has the focus; fail where a focus on the way does not show."""
        on_the_way = []
        for _ in range(MOST_TABS):
            self._page.keyboard.press("Tab")
            at = self._page.evaluate(_WHERE)
            if at["body"]:
                continue
            assert at["ring"], f"{at['called']!r} has the focus and no ring"
            assert at["seen"], f"{at['called']!r} has the focus and is out of sight"
            on_the_way.append(at["called"])
            if at["called"].startswith(words):
                self.reached.append(words)
                return
        raise AssertionError(f"no way by keyboard to {words!r}; on the way {on_the_way}")

    def press(self, words: str, *, key: str = "Enter") -> None:
        """Go to what is called so, press it, and wait for the page that it leads to."""
        self.tab_to(words)
        with self._page.expect_navigation():
            self._page.keyboard.press(key)

    def write(self, text: str, *, into: str = "") -> None:
        """Write over a field: the one that is called so, or the one that has the focus."""
        if into:
            self.tab_to(into)
        self._page.keyboard.press("Control+A")
        self._page.keyboard.type(text)

    def enter(self) -> None:
        """Send the form in which the focus is."""
        with self._page.expect_navigation():
            self._page.keyboard.press("Enter")

    def key(self, name: str) -> None:
        """Press one key."""
        self._page.keyboard.press(name)
