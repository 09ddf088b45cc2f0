"""Sendings from devices, in one form for papers, lessons and logs, and the replies that settle them.

    {"sent": ID, "for": {"records", "holder", "place"}, ...what is sent, "given": {...}}
    -> {"kept": {"sent": ID, ...}} | {"late": {"sent": ID, ...}} | {"error": {"sent": ID, "code", ...}}

A device keeps a sending until the server's reply names it; a reply from a proxy or another page
does not.
"""

import math
from collections.abc import Mapping
from typing import Any

import msgspec
from starlette.requests import Request
from starlette.responses import Response

from lubberline.classroom.records import NOT_CHOSEN, Answer, Asked, ClaimedTime, Place, Seat, Sitting
from lubberline.errors import InputError
from lubberline.store.times import now_ms
from lubberline.web.refusals import Refused

LIMIT_BYTES = 4_000
GREATEST_S = 86_400.0
SHORTEST_SENT, LONGEST_SENT = 8, 64
# Statuses of refusals sent to a device; 422 for the others.
STATUSES = {
    **dict.fromkeys(("sitting-closed", "handed-in", "time-over", "question-closed", "other-records"), 409),
    "no-place": 403,
    "no-sitting": 404,
}


class For(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The student, place and records of a sending.

    Attributes:
        records: id of the records of the device's page.
        place: id of the sitting, or key of the aircraft.
        holder: id of the student; '' for a log.
    """

    records: str
    place: str
    holder: str = ""


class Sending(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One answer or entry from a device.

    Attributes:
        sent: the device's id for it: it is accepted once, however often it arrives.
        for_: its student, place and records.
        key: of the question.
        chosen: index of the option in its item.
        place: of the option among those that a lesson's page showed, instead of `chosen`.
        value: a number, or the text typed.
        seconds: time taken.
        fields: of a log's form.
        given: when, by the device's clock; None if the device does not know.
    """

    sent: str
    for_: For = msgspec.field(name="for")
    key: str = ""
    chosen: int = NOT_CHOSEN
    place: int = NOT_CHOSEN
    value: float | str | None = None
    seconds: float = 0.0
    fields: dict[str, str] = {}
    given: ClaimedTime | None = None


async def read_sending(request: Request, limit_bytes: int = LIMIT_BYTES) -> Sending:
    """The sending in a request.

    Raises:
        Refused: it is too large.
        InputError: it is not a sending.
    """
    body = bytearray()
    async for piece in request.stream():
        body += piece
        if len(body) > limit_bytes:
            raise Refused(413, "sending", "it is too large", f"at most {limit_bytes} bytes")
    try:
        sending = msgspec.json.decode(bytes(body), type=Sending)
    except (msgspec.DecodeError, UnicodeDecodeError):
        raise InputError("sending", "cannot be read", "reload the page") from None
    if not (SHORTEST_SENT <= len(sending.sent) <= LONGEST_SENT and sending.sent.isascii()):
        raise InputError("sent", "not the id of a sending", "reload the page")
    return sending


def check_records(records: str, sending: Sending, place: str) -> None:
    """Checks that a sending is for these records and this place.

    Raises:
        InputError: it is not.
    """
    if sending.for_.records != records:
        right = "connect to the server of that class or aircraft"
        raise InputError("records", "it belongs to other records", right, "other-records")
    if sending.for_.place != place:
        raise InputError("place", "it belongs to another place", "reload the page", "no-place")


def _no_place() -> InputError:
    return InputError("place", "this device does not have it", "join with the code", "no-place")


def seated(seat: Seat, sending: Sending, id: str, kind: str) -> tuple[Sitting, Place]:
    """The sitting and the place of a sending.

    Raises:
        InputError: with a code: other records, no such sitting, or not this browser's place.
    """
    check_records(seat.records, sending, id)
    sitting, place = held(seat, kind)
    if place.student != sending.for_.holder:
        raise _no_place()
    return sitting, place


def held(seat: Seat, kind: str) -> tuple[Sitting, Place]:
    """The sitting and the place of a browser in it.

    Raises:
        InputError: with a code: no such sitting, or no place.
    """
    if seat.in_bin:
        # Waiting answers are sent again, and accepted once the sitting is brought back.
        raise _no_place()
    if seat.sitting is None or seat.sitting.kind != kind or seat.sitting.on_paper:
        raise InputError("sitting", "there is no aircraft with this id", "ask for the code", "no-sitting")
    if seat.place is None:
        raise _no_place()
    return seat.sitting, seat.place


def typed_number(text: str) -> float | None:
    """A number typed on a phone, with a point or a comma; None for empty.

    Raises:
        InputError: it is not a number.
    """
    word = text.strip().removesuffix("°").strip().replace("−", "-").replace(",", ".", 1)
    if not word:
        return None
    try:
        value = float(word) if len(word) <= 20 and word.isascii() else math.nan
    except ValueError:
        value = math.nan
    return _bounded(value, f"'{text.strip()[:20]}' is not a number")


def _bounded(value: float, wrong: str) -> float:
    if not -1e9 < value < 1e9:
        raise InputError("answer", wrong, "enter a number such as 274 or 3.5")
    return value


def answer_of(sending: Sending, asked: Asked, sitting: Sitting, student: str) -> Answer:
    """The answer to a question as stored; blank if nothing was chosen or typed.

    Raises:
        InputError: an unknown option, or not a number.
    """
    item, value = asked.item, None
    if item.kind == "number":
        given = sending.value
        value = typed_number(given) if isinstance(given, str) else given
        value = None if value is None else _bounded(value, "not a number")
    elif not NOT_CHOSEN <= sending.chosen < len(item.options):
        raise InputError("answer", "there is no such option", "choose one of those shown")
    return Answer(
        sitting=sitting.id,
        student=student,
        key=asked.key,
        chosen=NOT_CHOSEN if item.kind == "number" else sending.chosen,
        value=value,
        sent=sending.sent,
        seconds=min(max(sending.seconds, 0.0), GREATEST_S),
    )


def _json(body: Mapping[str, Any], status: int = 200) -> Response:
    return Response(msgspec.json.encode(body), status_code=status, media_type="application/json")


def acknowledged(sending: Sending, kind: str, told: Mapping[str, Any]) -> Response:
    """The reply to a saved sending: 'kept', or 'late' if the instructor has to decide."""
    return _json({kind: {**told, "sent": sending.sent}, "now_ms": now_ms()})


def refused(sending: Sending | None, error: InputError) -> Response:
    """The reply to a refused sending or request, with a code for the device."""
    told = {name: getattr(error, name) for name in ("code", "where", "wrong", "right")}
    body = {"error": {**told, "sent": sending.sent if sending else ""}, "now_ms": now_ms()}
    return _json(body, STATUSES.get(error.code, 422))


def whose(records: str, place: str, holder: str = "") -> dict[str, str]:
    """Data attributes for the page's script: for whom it sends, and the server's time."""
    return {"records": records, "place": place, "holder": holder, "now-ms": str(now_ms())}
