"""Coming in and letting others in: a key is swapped for a session, and new keys are made."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from optimiser.bench.bench import Bench, form_of
from optimiser.bench.codes import code_svg
from optimiser.bench.doors import SESSION_LIFE, VisitorRole
from optimiser.errors import InputError


def ask(bench: Bench, request: Request) -> Response:
    """The page that swaps a key: it changes nothing before somebody presses its button."""
    return bench.page(request, "enter.jinja", key=request.path_params["key"][:100])


def enter(bench: Bench, request: Request, *, cookie: str) -> Response:
    """Swap a key for a session; a key that was used, or is too old, opens nothing."""
    session = bench.doors.swap(form_of(request).get("key", ""))
    if session is None:
        words = "That key was used already, or is too old. Ask for a new one at the bench."
        return bench.page(request, "refused.jinja", status=403, title="Not this key", words=words)
    answer = RedirectResponse("/", status_code=303)
    answer.set_cookie(
        cookie, session, max_age=int(SESSION_LIFE), path="/", httponly=True, samesite="strict", secure=False
    )
    return answer


def show(bench: Bench, request: Request) -> Response:
    """The page about who is in."""
    return bench.page(request, "doors.jinja", key="", code=None, role="", reachable=len(bench.addresses) > 1)


def let_in(bench: Bench, request: Request) -> Response:
    """Make a key for another browser, shown once."""
    role = form_of(request).get("role", "")
    if role not in {one.value for one in VisitorRole}:
        raise InputError(f"role: got {role[:40]!r}, expected works or looks on.")
    address = f"{bench.addresses[-1]}/enter/{bench.doors.new_key(VisitorRole(role))}"
    return bench.page(
        request,
        "doors.jinja",
        key=address,
        code=code_svg(address),
        role=role,
        reachable=len(bench.addresses) > 1,
    )


def leave(bench: Bench, request: Request, *, cookie: str) -> Response:
    """Lock this browser out again."""
    session = request.scope["visitor"].session
    if session is not None:
        bench.doors.leave(session)
    answer = bench.page(
        request, "refused.jinja", title="Locked", words="This browser is out. A new key lets it in again."
    )
    answer.delete_cookie(cookie, path="/", httponly=True, samesite="strict")
    return answer


def routes(bench: Bench, *, cookie: str) -> list[Route]:
    """The addresses of the doors."""
    return [
        Route("/enter/{key}", lambda request: ask(bench, request)),
        Route("/enter", lambda request: enter(bench, request, cookie=cookie), methods=["POST"]),
        Route("/doors", lambda request: show(bench, request)),
        Route("/doors/key", lambda request: let_in(bench, request), methods=["POST"]),
        Route("/doors/leave", lambda request: leave(bench, request, cookie=cookie), methods=["POST"]),
    ]
