"""The instructor's passphrase, its sessions, and the login page.

The school keeps a scrypt digest of the passphrase and a random key; a session is a cookie that carries
its end and a keyed digest over it. A new passphrase and a logout end all sessions.
"""

import base64
import hashlib
import hmac
import logging
import secrets
import threading

from lubberline.store.settings import PASSPHRASE, SESSION_KEY
from lubberline.store.times import now
from lubberline.web.callers import caller, own_address
from lubberline.web.guard import LOGIN, SESSION_COOKIE
from lubberline.web.kit import (
    Form,
    InputError,
    Page,
    Refused,
    Request,
    Response,
    School,
    get,
    go_to,
    page,
    post,
    records,
    shared,
)

KEY = SESSION_KEY
SHORTEST = 10
LONGEST = 200
# RFC 7914; 32 MiB and some 60 ms a try.
WORK, BLOCK, LANES = 2**15, 8, 1
MEMORY_BYTES = 64 * 2**20
SESSION_S = 12 * 3600
# One try at a time, as each needs its memory.
_TRYING = threading.Lock()
LOG = logging.getLogger(__name__)


def _stretched(passphrase: str, salt: bytes) -> bytes:
    given = passphrase.encode("utf-8")
    return hashlib.scrypt(given, salt=salt, n=WORK, r=BLOCK, p=LANES, maxmem=MEMORY_BYTES)


def digest_of(passphrase: str) -> str:
    """The stored digest of a passphrase.

    Raises:
        InputError: it is shorter than 10 characters or longer than 200.
    """
    if not SHORTEST <= len(passphrase) <= LONGEST:
        right = f"use {SHORTEST} to {LONGEST} characters; several unrelated words are easy to remember"
        raise InputError("passphrase", f"it has {len(passphrase)} characters", right)
    salt = secrets.token_bytes(16)
    kept = [base64.b64encode(part).decode() for part in (salt, _stretched(passphrase, salt))]
    return "scrypt$" + "$".join(kept)


def fits(passphrase: str, digest: str) -> bool:
    """Whether this passphrase matches the digest."""
    if not digest.startswith("scrypt$") or len(passphrase) > LONGEST:
        return False
    salt, kept = (base64.b64decode(part) for part in digest.split("$")[1:])
    with _TRYING:
        return hmac.compare_digest(_stretched(passphrase, salt), kept)


def set_passphrase(school: School, passphrase: str) -> None:
    """Sets the school's passphrase, or removes it with ''; every session ends.

    Raises:
        InputError: as `digest_of`.
    """
    digest = digest_of(passphrase) if passphrase else ""
    # First, so that no session outlives its passphrase if the records fail in between.
    end_sessions(school)
    school.settings.put(PASSPHRASE, digest)


def is_set(school: School) -> bool:
    """Whether the instructor's pages need a passphrase."""
    return bool(school.settings.get(PASSPHRASE))


def end_sessions(school: School) -> None:
    """Makes every session's cookie invalid."""
    school.settings.put(KEY, secrets.token_urlsafe(32))


def _sign(key: str, told: str) -> str:
    return hmac.new(key.encode(), told.encode(), hashlib.sha256).hexdigest()


def new_session(school: School) -> str:
    """A cookie for somebody with the right passphrase."""
    if not school.settings.get(KEY):
        end_sessions(school)
    told = f"{int(now().timestamp()) + SESSION_S}.{secrets.token_urlsafe(9)}"
    return f"{told}.{_sign(school.settings.get(KEY), told)}"


def is_session(key: str, cookie: str) -> bool:
    """Whether a cookie is a valid session of a key."""
    told, _, signed = cookie.rpartition(".")
    end, _, _ = told.partition(".")
    if not key or not (end.isascii() and end.isdigit() and len(end) < 12):
        return False
    return hmac.compare_digest(_sign(key, told), signed) and int(end) > now().timestamp()


def _page(request: Request, after: str, wrong: str = "", status: int = 200, said: str = "") -> Response:
    error = InputError("passphrase", wrong, "log in with the school's passphrase") if wrong else None
    return page(request, "login.html", error, status, after=after, wrong=wrong, said=said)


def ask(request: Request) -> Response:
    """GET /login: the form, or the start page if there is no passphrase."""
    after = own_address(request.query_params.get("next", "")) or "/"
    said = "Passphrase set; log in with it." if request.query_params.get("done") == "set" else ""
    return _page(request, after, said=said) if is_set(records(request)) else go_to(after)


def log_in(request: Request, form: Form) -> Response:
    """POST /login: the passphrase; the right one opens a session in this browser."""
    school, tries = records(request), shared(request).login_tries
    after, by = own_address(form.get("next", "")) or "/", caller(request)
    try:
        tries.check(by.address)
    except Refused as refused:
        return _page(request, after, f"{refused.wrong.capitalize()}: {refused.right}.", 429)
    if not fits(form.get("passphrase", ""), school.settings.get(PASSPHRASE)):
        tries.failed(by.address)
        LOG.warning("a wrong passphrase was given")
        return _page(request, after, "Wrong passphrase.", 403)
    answer = go_to(after)
    answer.set_cookie(
        SESSION_COOKIE,
        new_session(school),
        max_age=SESSION_S,
        httponly=True,
        secure=by.proxied,
        samesite="strict",
    )
    return answer


def log_out(request: Request, form: Form) -> Response:
    """POST /logout: ends every session, so that no cookie left anywhere is valid."""
    end_sessions(records(request))
    answer = go_to(LOGIN)
    answer.delete_cookie(SESSION_COOKIE)
    return answer


PAGE = Page(LOGIN, "", [get(LOGIN, ask), post(LOGIN, log_in), post("/logout", log_out)])
