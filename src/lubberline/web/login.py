"""Logging in to the instructor's side with the school's passphrase, and out again."""

from __future__ import annotations

import logging

import jinja2
from anyio import to_thread
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from lubberline.store.setting_names import PASSPHRASE
from lubberline.web import passphrase
from lubberline.web.guard import LOGIN, SESSION_COOKIE
from lubberline.web.pages import THEMES
from lubberline.web.refusals import Refused
from lubberline.web.sides import caller, own_address
from lubberline.web.tries import Tries

LOG = logging.getLogger(__name__)
TEMPLATES = jinja2.Environment(
    loader=jinja2.PackageLoader("lubberline.web"),
    autoescape=True,
    undefined=jinja2.StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)


def new_tries() -> Tries:
    """Passphrases that may be tried: each takes a while to check anyway."""
    return Tries(each=5, each_per_min=2, together=20, together_per_min=6)


def _page(request: Request, after: str, wrong: str, status: int, said: str = "") -> Response:
    theme = request.cookies.get("theme", "auto")
    html = TEMPLATES.get_template("login.html").render(
        theme=theme if theme in THEMES else "auto", after=after, wrong=wrong, said=said
    )
    return HTMLResponse(html, status_code=status)


async def ask(request: Request) -> Response:
    """GET /login: the form; where nothing is asked for, the first page."""
    after = own_address(request.query_params.get("next", "")) or "/"
    if not await to_thread.run_sync(passphrase.is_set, request.app.state.school):
        return RedirectResponse(after, status_code=303)
    said = "Passphrase set; log in with it." if request.query_params.get("done") == "set" else ""
    return _page(request, after, "", 200, said)


async def log_in(request: Request) -> Response:
    """POST /login: the passphrase; the right one opens a session in this browser."""
    school, tries = request.app.state.school, request.app.state.login_tries
    form = await request.form(max_files=0, max_fields=4)
    after, given = own_address(str(form.get("next", ""))) or "/", str(form.get("passphrase", ""))
    address = caller(request).address
    try:
        tries.check(address)
    except Refused as refused:
        return _page(request, after, f"{refused.wrong.capitalize()}: {refused.right}.", 429)

    def right() -> bool:
        return passphrase.fits(given, school.setting(PASSPHRASE))

    if not await to_thread.run_sync(right):
        tries.failed(address)
        LOG.warning("a wrong passphrase was given")
        return _page(request, after, "That is not the passphrase.", 403)
    session = await to_thread.run_sync(passphrase.new_session, school)
    answer = RedirectResponse(after, status_code=303)
    answer.set_cookie(
        SESSION_COOKIE,
        session,
        max_age=passphrase.SESSION_S,
        httponly=True,
        secure=caller(request).proxied,
        samesite="strict",
    )
    return answer


async def log_out(request: Request) -> Response:
    """POST /logout: ends every session, so that a cookie left anywhere is worth nothing."""
    await to_thread.run_sync(passphrase.end_sessions, request.app.state.school)
    answer = RedirectResponse(LOGIN, status_code=303)
    answer.delete_cookie(SESSION_COOKIE)
    return answer


ROUTES = [
    Route(LOGIN, ask, methods=["GET"]),
    Route(LOGIN, log_in, methods=["POST"]),
    Route("/logout", log_out, methods=["POST"]),
]
