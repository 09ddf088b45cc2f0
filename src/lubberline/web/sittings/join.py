"""Joining a sitting with its code: the address, the page that asks for it, and a browser's place.

A browser is identified by a secret; only its digest is stored.
"""

import hashlib
import secrets
import threading
from collections import Counter
from collections.abc import Mapping, Sequence

from starlette.requests import HTTPConnection, Request

from lubberline.classroom.records import Place, Sitting
from lubberline.web.callers import caller, lan_addresses
from lubberline.web.kit import (
    Form,
    InputError,
    Refused,
    Response,
    School,
    get,
    go_to,
    page,
    post,
    records,
    shared,
)

COOKIE = "seat"
LONGEST_SECRET = 100
KEPT_S = 60 * 60 * 24 * 60
LONGEST_FIELD = 200
GREATEST_PLACES = 500
FIELDS = ("code", "name", "number")
_WORDS = (
    "Alfa Bravo Charlie Delta Echo Foxtrot Golf Hotel India Juliett Kilo Lima Mike November Oscar Papa "
    "Quebec Romeo Sierra Tango Uniform Victor Whiskey X-ray Yankee Zulu"
)
_FIGURES = "zero one two three four five six seven eight nine"
_SPELLED = {
    **{word[0]: word for word in _WORDS.split()},
    **{str(figure): word for figure, word in enumerate(_FIGURES.split())},
}
_DEALING = threading.Lock()
# The last form given in each sitting; the records have times in seconds, and several may join in one.
_LAST: dict[str, str] = {}


# The address


def join_base(request: Request) -> str:
    """The address under which students reach this server."""
    door = shared(request).door
    if door.behind:
        return door.behind
    port = (request.scope.get("server") or ("", 80))[1]
    names = lan_addresses() if door.lan else ()
    return f"http://{names[0] if names else '127.0.0.1'}:{port}"


def join_address(request: Request, sitting: Sitting) -> str:
    """The address to join a sitting, with its code."""
    return f"{join_base(request)}/join?code={sitting.code}"


# A browser's secret


def digest_of(request: HTTPConnection) -> str:
    """The digest of this browser's secret; '' without one."""
    secret = request.cookies.get(COOKIE, "")
    return digest(secret) if 0 < len(secret) <= LONGEST_SECRET else ""


def digest(secret: str) -> str:
    """The digest of a secret."""
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()


def new_secret() -> str:
    """A new secret that cannot be guessed."""
    return secrets.token_urlsafe(24)


# The form of a paper: students who join one after the other, as neighbours do, get different ones


def next_form(forms: Sequence[str], dealt: Sequence[str], last: str = "") -> str:
    """The form for the next student: not that of the last one, and the least used of the others.

    Args:
        forms: letters; none gives ''.
        dealt: the forms given so far.
        last: the form given last.
    """
    if not forms:
        return ""
    others = [form for form in forms if form != last] or list(forms)
    counts = Counter(dealt)
    return min(others, key=lambda form: (counts[form], forms.index(form)))


def form_for_next(sitting: Sitting, places: Sequence[Place], last: str = "") -> str:
    """The form for the next student in a sitting with these places."""
    dealt = [place.form for place in places]
    return next_form(sitting.forms, dealt, last or (dealt[-1] if dealt else ""))


# The page


def plain_code(given: str) -> str:
    """A code as stored: in capitals, without spaces and dashes."""
    return "".join(sign for sign in given.upper() if sign.isalnum())[:12]


def spelled(code: str) -> str:
    """A code as it is read out, in the words of the spelling alphabet (ICAO Annex 10, volume II)."""
    return " ".join(_SPELLED[sign] for sign in code if sign in _SPELLED)


def _form_page(request: Request, typed: Mapping[str, str], wrong: str = "", status: int = 200) -> Response:
    error = InputError("class", wrong, "join with the code on the projector") if wrong else None
    told = {"typed": typed, "wrong": wrong, "spelled": spelled(typed["code"])}
    return page(request, "sittings/join.html", error, status, **told)


def ask(request: Request) -> Response:
    """GET /join: the form. It does not reveal whether the code in the address is valid."""
    code = plain_code(request.query_params.get("code", ""))
    return _form_page(request, {"code": code, "name": "", "number": ""})


def _joined(school: School, typed: Mapping[str, str], digest: str) -> Sitting | None:
    """The sitting joined; None for an unknown code.

    Raises:
        InputError: an invalid name, or a full or closed sitting.
    """
    sitting = school.sittings.by_code(typed["code"])
    if sitting is None or school.sittings.place_by_secret(sitting.id, digest) is not None:
        return sitting
    if len(school.sittings.places(sitting.id)) >= GREATEST_PLACES:
        raise InputError("class", f"it is full ({GREATEST_PLACES} students)", "ask the instructor")
    if sitting.kind == "lesson":
        school.sittings.enter(sitting.id, typed["name"], typed["number"], digest)
        return sitting
    # One at a time, or two who join at once would get the same form.
    with _DEALING:
        form = form_for_next(sitting, school.sittings.places(sitting.id), _LAST.get(sitting.id, ""))
        place = school.sittings.enter(sitting.id, typed["name"], typed["number"], digest, form)
        _LAST[sitting.id] = place.form
    return sitting


def join(request: Request, form: Form) -> Response:
    """POST /join: joins a lesson or a paper with a code and a name; a browser gets its own place again."""
    typed = {name: form.get(name, "")[:LONGEST_FIELD].strip() for name in FIELDS}
    typed["code"] = plain_code(typed["code"])
    typed["name"] = typed["name"] or typed["number"]
    by = caller(request)
    codes, joins = shared(request).code_tries, shared(request).join_tries
    secret = request.cookies[COOKIE] if digest_of(request) else new_secret()
    try:
        codes.check(by.address)
        joins.check(by.address)
        found = _joined(records(request), typed, digest(secret))
    except Refused as refused:
        return _form_page(request, typed, f"Too many tries: {refused.right}.", refused.status_code)
    except InputError as error:
        return _form_page(request, typed, f"{error.where}: {error.wrong}; {error.right}.", 422)
    if found is None:
        codes.failed(by.address)
        wrong = "No lesson or paper has this code. Check it on the projector and type it again."
        return _form_page(request, typed, wrong, 404)
    joins.failed(by.address)
    answer = go_to(f"/class/{found.id}" if found.kind == "lesson" else f"/sit/{found.id}")
    answer.set_cookie(COOKIE, secret, max_age=KEPT_S, httponly=True, samesite="lax", secure=by.proxied)
    return answer


def leave(request: Request, form: Form) -> Response:
    """POST /class/leave: switches the student on this phone; the answers stay."""
    answer = go_to("/join")
    answer.delete_cookie(COOKIE)
    return answer


ROUTES = [
    get("/join", ask),
    post("/join", join, most_fields=8),
    post("/class/leave", leave),
]
