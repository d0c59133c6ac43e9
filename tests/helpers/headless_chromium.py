"""A headless browser that lays a page out at a width and reports what is cut or lies on something else."""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
from pathlib import Path

PATH = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))),
    None,
)

_CHECK = """
function look(doc, width) {
  const faults = [], boxes = [];
  if (doc.documentElement.scrollWidth > width + 1) faults.push('page is ' + doc.documentElement.scrollWidth + ' wide');
  const walker = doc.createTreeWalker(doc.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode;
    if (!node.data.trim()) continue;
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
addEventListener('load', () => {
  const frame = document.querySelector('iframe');
  const seen = look(frame.contentDocument, frame.clientWidth);
  document.querySelector('pre').textContent = JSON.stringify(seen);
});
"""


def faults(page: str, *, width: int, folder: Path, as_print: bool = False) -> list[str]:
    """What is cut or overlaps in a page at a width in pixels, by a script that stands outside the page."""
    if as_print:
        page = page.replace("@media print", "@media all")
    wrapper = folder / f"at-{width}.html"
    wrapper.write_text(
        f'<!doctype html><meta charset="utf-8"><body style="margin:0"><iframe style="border:0;width:{width}px;'
        f'height:4000px" srcdoc="{html.escape(page)}"></iframe><pre></pre><script>{_CHECK}</script>',
        encoding="utf-8",
    )
    dom = _run(["--window-size=1400,1000", "--dump-dom", wrapper.as_uri()], folder)
    seen = json.loads(html.unescape(re.findall(r"<pre>(.*?)</pre>", dom, re.DOTALL)[-1]))
    assert seen["texts"] > 0, "the browser saw no text, so it checked nothing"
    return list(seen["faults"])


def sides(page: str, *, folder: Path) -> int:
    """Sides of paper that the page prints on."""
    source, target = folder / "print.html", folder / "print.pdf"
    source.write_text(page, encoding="utf-8")
    _run(["--no-pdf-header-footer", f"--print-to-pdf={target}", source.as_uri()], folder)
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", target.read_bytes()))


def _run(arguments: list[str], folder: Path) -> str:
    assert PATH is not None
    command = [
        PATH, "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
        f"--user-data-dir={folder / 'profile'}", *arguments,
    ]  # fmt: skip
    return subprocess.run(command, check=True, capture_output=True, text=True, timeout=120).stdout
