"""Logging in to the instructor's side with the school's passphrase, and out again."""

from __future__ import annotations

import logging

from starlette.requests import Request
from starlette.responses import Response

from lubberline.errors import InputError
from lubberline.store.settings import PASSPHRASE
from lubberline.web import passphrase
from lubberline.web.forms import Form
from lubberline.web.guard import LOGIN, SESSION_COOKIE
from lubberline.web.kit import Page, get, go_to, page, post, records, shared
from lubberline.web.refusals import Refused
from lubberline.web.sides import caller, own_address

LOG = logging.getLogger(__name__)


def _page(request: Request, after: str, wrong: str = "", status: int = 200, said: str = "") -> Response:
    error = InputError("passphrase", wrong, "log in with the school's passphrase") if wrong else None
    return page(request, "login.html", error, status, after=after, wrong=wrong, said=said)


def ask(request: Request) -> Response:
    """GET /login: the form; where nothing is asked for, the first page."""
    after = own_address(request.query_params.get("next", "")) or "/"
    said = "Passphrase set; log in with it." if request.query_params.get("done") == "set" else ""
    return _page(request, after, said=said) if passphrase.is_set(records(request)) else go_to(after)


def log_in(request: Request, form: Form) -> Response:
    """POST /login: the passphrase; the right one opens a session in this browser."""
    school, tries = records(request), shared(request).login_tries
    after, by = own_address(form.get("next", "")) or "/", caller(request)
    try:
        tries.check(by.address)
    except Refused as refused:
        return _page(request, after, f"{refused.wrong.capitalize()}: {refused.right}.", 429)
    if not passphrase.fits(form.get("passphrase", ""), school.settings.get(PASSPHRASE)):
        tries.failed(by.address)
        LOG.warning("a wrong passphrase was given")
        return _page(request, after, "That is not the passphrase.", 403)
    answer = go_to(after)
    answer.set_cookie(
        SESSION_COOKIE,
        passphrase.new_session(school),
        max_age=passphrase.SESSION_S,
        httponly=True,
        secure=by.proxied,
        samesite="strict",
    )
    return answer


def log_out(request: Request, form: Form) -> Response:
    """POST /logout: ends every session, so that a cookie left anywhere is worth nothing."""
    passphrase.end_sessions(records(request))
    answer = go_to(LOGIN)
    answer.delete_cookie(SESSION_COOKIE)
    return answer


PAGE = Page(LOGIN, "", [get(LOGIN, ask), post(LOGIN, log_in), post("/logout", log_out)])
