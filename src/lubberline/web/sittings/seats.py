"""A student's browser and the place it holds: known by a secret of which only the digest is kept."""

from __future__ import annotations

import hashlib
import secrets
import threading

from starlette.requests import HTTPConnection, Request

from lubberline.classroom.records import Place, Sitting
from lubberline.store.school import School
from lubberline.web.sittings.dealing import form_for_next

COOKIE = "seat"
LONGEST_SECRET = 100
KEPT_S = 60 * 60 * 24 * 60
_DEALING = threading.Lock()
# What was dealt last in each sitting: the records know the second, and several may come in one.
_LAST: dict[str, str] = {}


def digest_of(request: HTTPConnection) -> str:
    """The digest of the secret that this browser holds; '' when it holds none."""
    secret = request.cookies.get(COOKIE, "")
    return digest(secret) if 0 < len(secret) <= LONGEST_SECRET else ""


def digest(secret: str) -> str:
    """The digest of a secret."""
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()


def new_secret() -> str:
    """A secret that nobody guesses."""
    return secrets.token_urlsafe(24)


def place_of(school: School, sitting: Sitting, request: Request) -> Place | None:
    """The place that this browser holds in a sitting."""
    return school.place_by_secret(sitting.id, digest_of(request))


def take(school: School, sitting: Sitting, name: str, number: str, digest: str) -> Place:
    """Takes a place in a paper, with the form that is dealt next.

    Raises:
        InputError: a closed sitting, or a name that is none.
    """
    # One at a time, or two who come at once would be dealt the same form.
    with _DEALING:
        form = form_for_next(sitting, school.places(sitting.id), _LAST.get(sitting.id, ""))
        place = school.enter(sitting.id, name, number, digest, form)
        _LAST[sitting.id] = place.form
        return place
