"""Every page of a shop: those that a link leads to, one of each kind, and those that only a form or a stranger sees."""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from tests.helpers.bench_browser import Served, Watched
from tests.helpers.page_checks import one_of_each

if TYPE_CHECKING:
    from playwright.sync_api import Browser

BY_HAND: Final = (
    "/jobs/a_more_support/answer",
    "/jobs/a_more_support",
    "/jobs/c_sag_first/answer",
    "/jobs/c_sag_first",
    "/jobs/d_out_of_reach/answer",
    "/jobs/f_another_frame",
    "/jobs/g_too_coarse/answer",
    "/jobs/i_fork_dives",
    "/jobs/j_buggy_whoops",
    "/jobs/a_more_support/what-if?try=out+20x0.10",
    "/jobs/a_more_support/what-if?try=out+99x9",
    "/counter/begun",
    "/jobs/nobody",
)
"""Pages of one kind that show other things: what is reserved, stopped, out of reach, built, refused."""


WORKS, GUEST, STRANGER = "works", "looks on", "nobody"
"""Who comes to a page: one who works there, one who looks on, one who has no key."""


@dataclass(frozen=True)
class Visit:
    """A page, and how one comes to it."""

    called: str
    come: Callable[[Watched], None]
    who: str = WORKS


def linked(bench: Served, cookie: str) -> list[str]:
    """One address of each kind that links lead to."""
    found, waiting = list(BY_HAND), ["/", *BY_HAND]
    while waiting:
        for link in re.findall(r'<a [^>]*href="(/[^"#]*)', bench.read(waiting.pop(), cookie)):
            path = html.unescape(link).replace(" ", "+")
            if len(one_of_each([*found, path])) > len(one_of_each(found)):
                found.append(path)
                waiting.append(path)
    return found


def visits(bench: Served, cookie: str) -> Iterator[Visit]:
    """All of them."""
    for path in linked(bench, cookie):
        yield Visit(path, lambda one, path=path: one.go(path))  # type: ignore[misc]
    for path in ("/", "/jobs/a_more_support", "/jobs/i_fork_dives", "/stock", "/record", "/counter/begun"):
        yield Visit(f"{path} for a guest", lambda one, path=path: one.go(path), who=GUEST)  # type: ignore[misc]
    yield Visit("a key for a guest", _guest_key)
    yield Visit("a shim that nobody knows", _refused_form)
    yield Visit("a stranger's page", lambda one: one.go("/"), who=STRANGER)
    yield Visit("the page of a key", lambda one: one.go("/enter/some-key"), who=STRANGER)
    yield Visit("a key that was used", _used_key, who=STRANGER)


def _guest_key(watched: Watched) -> None:
    watched.go("/doors")
    watched.page.get_by_role("button", name="A key for a guest").click()
    watched.page.locator("code.address").wait_for()
    watched.page.wait_for_load_state()


def _refused_form(watched: Watched) -> None:
    watched.go("/stock")
    watched.page.get_by_text("Something came, went, or was counted").click()
    watched.page.get_by_label("they came").check()
    watched.page.get_by_label("Type, outer diameter").fill("99x9")
    watched.page.get_by_label("How many").fill("3")
    watched.page.get_by_role("button", name="Write it down").click()
    watched.page.get_by_role("alert").wait_for()
    watched.page.wait_for_load_state()


def _used_key(watched: Watched) -> None:
    watched.go("/enter/some-key")
    watched.page.get_by_role("button", name="Open the bench").click()
    watched.page.get_by_role("alert").wait_for()
    watched.page.wait_for_load_state()


@contextmanager
def visitors(browser: Browser, bench: Served, state: Any, **how: Any) -> Iterator[Callable[[Visit], Watched]]:
    """Gives for each visit the browser of the one who makes it."""
    contexts = {
        WORKS: browser.new_context(storage_state=state, **how),
        GUEST: browser.new_context(**how),
        STRANGER: browser.new_context(**how),
    }
    key = bench.key_for(cookie_of(state), role=GUEST)
    name, _, session = replace(bench, way_in=f"{bench.address}/enter/{key}").enter().partition("=")
    contexts[GUEST].add_cookies([{"name": name, "value": session, "url": bench.address}])
    watched = {who: Watched.of(context, bench.address) for who, context in contexts.items()}

    def visited(visit: Visit) -> Watched:
        visit.come(watched[visit.who])
        return watched[visit.who]

    try:
        yield visited
    finally:
        for context in contexts.values():
            context.close()


def cookie_of(state: Any) -> str:
    """The cookies of a browser's state as a request has them."""
    return "; ".join(f"{one['name']}={one['value']}" for one in state["cookies"])
