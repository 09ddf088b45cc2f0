"""Whether a lesson's records and phones can be reached, as its pages are told beside their views."""

from __future__ import annotations

from typing import Any, NamedTuple

import msgspec

from lubberline.errors import Unavailable, UnavailableCode
from lubberline.store.outage import WORDS
from lubberline.store.school import School
from lubberline.web.heard import Heard
from lubberline.web.teach.snapshot import Snapshot


class Contact(NamedTuple):
    """What can be reached.

    Attributes:
        away: why the records cannot be read or written; None when they can.
        silent: names of students whose phones are not heard.
        waiting: answers that wait on phones, as far as those say.
    """

    away: UnavailableCode | None = None
    silent: tuple[str, ...] = ()
    waiting: int = 0


def away(school: School) -> UnavailableCode | None:
    """Why the records cannot be read or written just now; None when they can."""
    try:
        return school.look_after()
    except Unavailable as error:
        return error.code


def contact_of(why: UnavailableCode | None, heard: Heard, snapshot: Snapshot | None) -> Contact:
    """How a lesson can be reached.

    Args:
        why: the records are away, from `away`.
        heard: the phones that are.
        snapshot: the lesson as it was read last; None before it was.
    """
    if snapshot is None or snapshot.sitting.closed_utc:
        return Contact(why)
    phones = heard.of(snapshot.sitting.id, snapshot.places)
    silent = sorted(snapshot.names[id] for id in phones.silent if id in snapshot.names)
    return Contact(why, tuple(silent), phones.waiting)


def fields_for_instructor(contact: Contact) -> dict[str, Any]:
    """What the instructor's page is told."""
    words = WORDS[contact.away][0] if contact.away else ""
    return {
        "away": contact.away or "",
        "words": words,
        "silent": contact.silent,
        "waiting": contact.waiting,
    }


def fields_for_class(contact: Contact) -> dict[str, Any]:
    """What a whole class may see of it."""
    return {"away": contact.away or "", "words": "", "silent": (), "waiting": 0}


def for_instructor(contact: Contact) -> bytes:
    """The message to the instructor's page."""
    return msgspec.json.encode({"contact": fields_for_instructor(contact)})


def for_class(contact: Contact) -> bytes:
    """The message to the projector's page."""
    return msgspec.json.encode({"contact": fields_for_class(contact)})
