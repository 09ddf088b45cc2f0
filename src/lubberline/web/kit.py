"""The web kit: registers pages, fills templates, and sends files and redirects.

A page is a folder of `web` with its handlers and templates, and a `PAGE` that the application lists:

    def show(request: Request) -> Response:
        return page(request, "weather/show.html", winds=winds())

    def keep(request: Request, form: Form) -> Response:
        keep_wind(records(request), form.get("wind", ""))
        return go_to("/weather", "kept")

    PAGE = Page("/weather", "Weather", [get("/weather", show), post("/weather", keep)])

The application lists it behind one of its doors, in whose row its name then stands.

Handlers are plain functions, run in a thread. They raise `InputError` or `Unavailable`, which becomes a page
for a browser and JSON for a script (`refusals`).
"""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable, Sequence
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple
from urllib.parse import quote, urlencode

import jinja2
import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import HTTPConnection, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from lubberline import __version__
from lubberline.errors import InputError, Unavailable, check_known, nearest_of, required
from lubberline.flight.home import Home
from lubberline.publish.words import many, number, signed, typeset
from lubberline.questions.slips import said_in
from lubberline.simulation import CAUTIONS
from lubberline.simulation.misconceptions.idea import spoken
from lubberline.store.bin.contents import Binned
from lubberline.store.school import School
from lubberline.web.forms import MOST_FIELDS, NO_FORM, Form, SentFile, digest, number_in, read_form, was_typed
from lubberline.web.refusals import Refused

if TYPE_CHECKING:
    from lubberline.web.app import State

# What a page is written with: it is imported from here, so that this module alone knows where it is from.
__all__ = (
    "NO_FORM",
    "Form",
    "InputError",
    "Refused",
    "Request",
    "Response",
    "Route",
    "School",
    "SentFile",
    "Unavailable",
    "check_known",
    "digest",
    "nearest_of",
    "number_in",
    "read_form",
    "required",
    "run_in_threadpool",
    "was_typed",
)
HERE = Path(__file__).parent
STATIC = HERE / "static"
THEMES = ("auto", "light", "dark")
# What a page says after an action, by the word in its address.
DONE = {
    "added": "Added.",
    "brought-back": "Brought back.",
    "checked": "Checked.",
    "closed": "Closed. No more answers are accepted.",
    "code": "The code opens this aircraft’s log on the network.",
    "corrected": "Correction saved, with who made it and why.",
    "deleted": "Deleted for good.",
    "demo": "Demo class loaded.",
    "gave-time": "Extra time saved; the student’s clock shows it within a few seconds.",
    "hidden": "Marks hidden from the students.",
    "kept": "Saved.",
    "late-left": "Not accepted. The answers stay in the history.",
    "late-taken": "Accepted. They count now, and are marked as late in the history.",
    "no-code": "Code removed; the log opens on this machine only.",
    "opened": "Reopened.",
    "released": "Students can see their marks now.",
    "released-place": "Place freed: the student can join again with the code.",
    "restored": "Restored: the records are now those of the backup.",
    "saved": "Saved.",
    "swung": "Swing saved.",
    "taken-back": "Withdrawn. It stays in the history.",
    "typed": "Answers saved.",
}
KINDS = {
    "backup": "application/octet-stream",
    "csv": "text/csv; charset=utf-8",
    "json": "application/json",
    "md": "text/markdown; charset=utf-8",
    "pdf": "application/pdf",
    "sqlite3": "application/octet-stream",
    "svg": "image/svg+xml",
    "toml": "text/plain; charset=utf-8",
    "zip": "application/zip",
}


class Room(NamedTuple):
    """A page in the row of its door, at the head of the instructor's pages.

    Attributes:
        address: without a query.
        name: in the row.
        is_of_class: its link keeps the class that is shown.
    """

    address: str
    name: str
    is_of_class: bool = False


class Page(NamedTuple):
    """A page of the program, or several in one folder.

    Attributes:
        address: of the first of them.
        name: in the row of its door; '' for none there.
        routes: of all of them.
        is_of_class: its link keeps the class that is shown.
        more: further rooms of the folder, after the first.
    """

    address: str
    name: str
    routes: Sequence[BaseRoute]
    is_of_class: bool = False
    more: Sequence[Room] = ()

    @property
    def rooms(self) -> tuple[Room, ...]:
        """The page's own, and the further rooms."""
        return (Room(self.address, self.name, self.is_of_class), *self.more)


# Templates


@jinja2.pass_context
def _time(context: jinja2.runtime.Context, utc: str) -> str:
    """A stored time by the clocks at home: '2026-05-01 10:20 NZST'; '' stays ''."""
    return context["home"]().time(utc) if utc else ""


@jinja2.pass_context
def _day(context: jinja2.runtime.Context, utc: str) -> str:
    """The day of a stored time at home."""
    return context["home"]().day(utc) if utc else ""


@jinja2.pass_context
def _hour(context: jinja2.runtime.Context, utc: str) -> str:
    """The time of day of a stored time at home."""
    return context["home"]().hour(utc) if utc else ""


@jinja2.pass_context
def _mended(context: jinja2.runtime.Context, text: str) -> str:
    """Corrections of wrong ideas in a text, as they are said in the hemisphere of home."""
    return spoken(said_in(text, southern=context["home"]().side < 0))


def _drift(value: float | None) -> str:
    """A drift for the table: signed, with fewer decimals for large values."""
    return signed(value, 0 if value is not None and abs(value) >= 100.0 else 1)


def duration(minutes_flown: float) -> str:
    """A length of time as hours and minutes."""
    hours, rest = divmod(round(minutes_flown), 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


def _with_degrees(text: str) -> str:
    """Plain text with degree signs and true minus signs, as in the drawings."""
    return re.sub(r"(?<=\d) deg\b", "°", re.sub(r"(?<!\S)-(?=\d)", "−", text))


TEMPLATES = jinja2.Environment(
    # A page's templates are in its folder, shared ones in `templates`.
    loader=jinja2.FileSystemLoader([HERE / "templates", HERE]),
    autoescape=True,
    undefined=jinja2.StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
TEMPLATES.filters.update(
    day=_day,
    drift=_drift,
    duration=duration,
    hour=_hour,
    mended=_mended,
    many=many,
    number=number,
    share=partial(number, decimals=2),
    signed=signed,
    time=_time,
    typeset=typeset,
    with_degrees=_with_degrees,
)


def theme_of(request: HTTPConnection) -> str:
    """The theme that this browser chose."""
    theme = request.cookies.get("theme", "auto")
    return theme if theme in THEMES else "auto"


def wants_json(request: HTTPConnection) -> bool:
    """Whether the request is from a script that wants JSON rather than a browser that wants a page."""
    accept = request.headers.get("accept", "")
    return "application/json" in accept and "text/html" not in accept


def part(template: str, **given: Any) -> str:
    """A part of a page as HTML, for a script that inserts it."""
    return TEMPLATES.get_template(template).render(**given)


def page(
    request: HTTPConnection, template: str, error: InputError | None = None, status: int = 0, **given: Any
) -> HTMLResponse:
    """A page from its template, with the error, if any, at its head.

    Args:
        request: its theme and the word of what was done are used.
        template: its folder and name, as 'lessons/edit.html'.
        error: what was wrong with what was sent.
        status: of the answer; by default 200, or 422 with an error.
        given: what the template shows.

    Raises:
        Refused: to a script, which gets the error as JSON.
    """
    status = status or (422 if error else 200)
    if error and status >= 400 and wants_json(request):
        raise Refused(status, error.where, error.wrong, error.right, error.code)
    html = part(
        template,
        theme=theme_of(request),
        version=__version__,
        cautions=CAUTIONS,
        **_row(request),
        built=bool(styled := _styled()),
        styled=styled,
        error=error,
        home=shared(request).records.home,
        has_home=shared(request).records.has_home,
        done=DONE.get(request.query_params.get("done", ""), ""),
        binned=_just_binned(request) if status < 400 else None,
        **given,
    )
    return HTMLResponse(html, status_code=status)


def _row(request: HTTPConnection) -> dict[str, Any]:
    """The doors with the address each opens on, and the rooms behind the open one."""
    path = request.scope["path"]
    doors = {
        name: [room for one in pages for room in one.rooms] for name, pages in shared(request).doors.items()
    }
    here = [
        (len(room.address), name, room)
        for name, rooms in doors.items()
        for room in rooms
        if f"{path}/".startswith(f"{room.address}/")
    ]
    _, door, room = max(here, default=(0, "", None))
    return {
        "path": path,
        "doors": [(name, rooms[0].address) for name, rooms in doors.items()],
        "door": door,
        "rooms": doors.get(door, []),
        "room": room,
    }


def _styled() -> set[str]:
    """The pages with their own style, as built; none if nothing is built."""
    return {path.stem for path in STATIC.glob("*.css")}


def _just_binned(request: HTTPConnection) -> Binned | None:
    """The thing just deleted, from the address, while it is in the bin."""
    id = request.query_params.get("binned", "")
    with suppress(InputError):
        return records(request).bin.entry(id) if id else None
    return None


# What handlers reach for


def shared(request: HTTPConnection) -> State:
    """The state of the running application."""
    found: State = request.app.state.shared
    return found


def records(request: HTTPConnection) -> School:
    """The school's records, opened when first needed.

    Raises:
        Unavailable: they cannot be opened now.
    """
    return shared(request).records()


def home_for(request: HTTPConnection) -> Home:
    """The school's home, or the demo's."""
    return shared(request).records.home()


# Answers


def go_to(address: str, done: str = "", binned: str = "", at: str = "", form: Form | None = None) -> Response:
    """A redirect to a page after an action.

    Args:
        address: of the page.
        done: the word of `DONE` for the action.
        binned: id of what went into the bin.
        at: the part of the page, such as '#entries-title'.
        form: the accepted form, whose draft the browser then deletes.
    """
    told = {"done": done, "binned": binned, "taken": (form or NO_FORM).get("draft", "")[:40]}
    said = urlencode({name: word for name, word in told.items() if word})
    joint = ("&" if "?" in address else "?") if said else ""
    return RedirectResponse(f"{address}{joint}{said}{at}", status_code=303)


def file(name: str, data: bytes, *, shown: bool = False) -> Response:
    """A file to download or to show in the page; its type follows from its ending.

    A name of more than plain letters is given twice (RFC 6266): plain for old readers, and whole in UTF-8.
    """
    plain = re.sub(r"[^A-Za-z0-9._ -]", "_", name)
    whole = f"; filename*=UTF-8''{quote(name, safe='')}" if name != plain else ""
    told = {"content-disposition": f'{"inline" if shown else "attachment"}; filename="{plain}"{whole}'}
    return Response(data, media_type=KINDS[name.rpartition(".")[2]], headers=told)


def qr_picture(address: str, scale: int) -> str:
    """An address as a QR code, as the source of an image."""
    import segno

    made: str = segno.make(address, error="m").svg_data_uri(scale=scale, border=2, dark="#000", light="#fff")
    return made


def as_json(value: object) -> Response:
    """Plain values as JSON."""
    return Response(msgspec.json.encode(value), media_type="application/json")


# Routes

Again = Callable[[Request, Form, InputError | None], Response]


def get(path: str, show: Callable[[Request], Response | Awaitable[Response]]) -> Route:
    """A page, or a file, at an address."""
    return Route(path, show, methods=["GET"])


def post(
    path: str,
    act: Callable[[Request, Form], Response],
    again: Again | None = None,
    *,
    most_fields: int = MOST_FIELDS,
    file_bytes: int = 0,
) -> Route:
    """The action of a form sent to an address.

    Args:
        path: the address.
        act: does it.
        again: shows the page again with the error at its head; without it, a separate page shows the error.
        most_fields: how many fields the form may have.
        file_bytes: the largest file allowed; 0 for a form without files.
    """

    def done(request: Request, form: Form) -> Response:
        try:
            return act(request, form)
        except InputError as error:
            if again is None:
                raise
            return again(request, form, error)

    async def answer(request: Request) -> Response:
        form = await read_form(request, most_fields, file_bytes)
        return await run_in_threadpool(done, request, form)

    return Route(path, answer, methods=["POST"], name=getattr(act, "__name__", None))
