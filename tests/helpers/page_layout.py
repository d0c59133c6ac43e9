"""Pages as one browser lays them out, at one width after the other: what is cut, and what lies on something else."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from playwright.sync_api import Browser

LOOK: Final = """
(width) => {
  const faults = [], boxes = [], doc = document;
  if (doc.documentElement.scrollWidth > width + 1) faults.push('page is ' + doc.documentElement.scrollWidth + ' wide');
  const walker = doc.createTreeWalker(doc.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode;
    if (!node.data.trim() || node.parentElement.closest('.skip, .unseen')) continue;
    if (!node.parentElement.checkVisibility()) continue;
    const range = doc.createRange();
    range.selectNodeContents(node);
    const svg = node.parentElement.closest('svg');
    for (const r of range.getClientRects()) {
      if (r.width < 1) continue;
      const text = node.data.trim().slice(0, 40);
      if (r.left < -1 || r.right > width + 1) faults.push('cut by the page: ' + text);
      if (svg) {
        const s = svg.getBoundingClientRect();
        if (r.left < s.left - 1 || r.right > s.right + 1 || r.top < s.top - 2 || r.bottom > s.bottom + 2)
          faults.push('cut by its drawing: ' + text);
      }
      const inset = r.height * 0.2;
      boxes.push({l: r.left, r: r.right, t: r.top + inset, b: r.bottom - inset, text, node});
    }
  }
  for (let i = 0; i < boxes.length; i++)
    for (let j = i + 1; j < boxes.length; j++) {
      const a = boxes[i], b = boxes[j];
      if (Math.min(a.r, b.r) - Math.max(a.l, b.l) > 1 && Math.min(a.b, b.b) - Math.max(a.t, b.t) > 0.5)
        faults.push('overlap: ' + a.text + ' / ' + b.text);
    }
  return {texts: boxes.length, faults};
}
"""
"""A function of a page's width in pixels: what of its text is cut, or lies on other text."""


class PageLayout:
    """Looks at pages.

    Parameters
    ----------
    browser : that lays them out; a browser for each look would take longer to start than it looks.
    """

    def __init__(self, browser: Browser) -> None:
        self._page = browser.new_page()

    def faults(self, page: str, *, width: int, as_print: bool = False) -> list[str]:
        """What is cut or overlaps in a page at a width in pixels."""
        self._page.set_viewport_size({"width": width, "height": 4000})
        self._page.emulate_media(media="print" if as_print else "screen")
        self._page.set_content(page)
        seen = self._page.evaluate(LOOK, width)
        assert seen["texts"] > 0, "the browser saw no text, so it checked nothing"
        return list(seen["faults"])

    def sides(self, page: str) -> int:
        """Sides of paper that the page prints on, of the size that the page asks for."""
        self._page.emulate_media(media="print")
        self._page.set_content(page)
        return len(re.findall(rb"/Type\s*/Page\b(?!s)", self._page.pdf(prefer_css_page_size=True)))
