"""The application: the pages, what they share, the refusals and the guard put together."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Receive, Scope, Send

from lubberline.simulation.misconceptions.idea import SPOKEN
from lubberline.web import notices, passphrase
from lubberline.web.aircraft import pages as aircraft
from lubberline.web.aircraft.fleet import carried_now
from lubberline.web.bench import pages as bench
from lubberline.web.bench.rooms import Rooms
from lubberline.web.callers import Door
from lubberline.web.catalogue import Catalogue, demo_catalogue
from lubberline.web.flights import pages as flights
from lubberline.web.flights.engine import Flying, Uploads
from lubberline.web.guard import Guard
from lubberline.web.kit import (
    STATIC,
    InputError,
    Page,
    Request,
    Response,
    School,
    Unavailable,
    get,
    go_to,
)
from lubberline.web.lessons import pages as lessons
from lubberline.web.phones import Heard, Hearing
from lubberline.web.questions import pages as questions
from lubberline.web.rate_limit import Tries
from lubberline.web.records import Opening
from lubberline.web.refusal_pages import answer
from lubberline.web.results import pages as results
from lubberline.web.scenes import pages as scenes
from lubberline.web.school import pages as school_page
from lubberline.web.school.backup import HeldBackup
from lubberline.web.shelf import Shelves
from lubberline.web.sittings import pages as sittings
from lubberline.web.stage import pages as stage
from lubberline.web.teach import pages as teach
from lubberline.web.teach.lines import Hub
from lubberline.web.teach.phone import AnswerQueue

# The doors at the head of the instructor's pages. Each opens on its first page; the program, on Show's.
DOORS: Mapping[str, tuple[Page, ...]] = {
    "Show": (stage.PAGE, bench.PAGE, scenes.PAGE, flights.PAGE),
    "Teach": (lessons.PAGE,),
    "Test": (questions.PAGE, sittings.PAGE),
    "Class": (results.PAGE, school_page.PAGE),
    "Aircraft": (aircraft.PAGE,),
}
BEHIND_DOORS = tuple(page for pages in DOORS.values() for page in pages)
PAGES = (*BEHIND_DOORS, teach.PAGE, passphrase.PAGE, notices.PAGE)


def start(request: Request) -> Response:
    """GET /: the first page; with a query, the flight that this address led to in earlier versions."""
    query = request.url.query
    return go_to(f"{flights.PAGE.address}?{query}" if query else BEHIND_DOORS[0].address)


@dataclass(kw_only=True)
class State:
    """What the pages share beside the records.

    Attributes:
        doors: the pages behind each door.
        door: how far the school is open.
        records: opens the school's records.
        catalogue: what may be chosen and flown.
        uploads: flight files sent by the browser.
        flying: the engine behind the Flights page.
        rooms: the benches that are open.
        shelves: the school's own lessons, scenes and items.
        heard: the phones that respond.
        answer_queue: answers of a lesson on their way to the records.
        hub: who watches which lesson.
        held_backup: the backup that was sent to be restored.
        login_tries: passphrases: each takes a while to check anyway.
        log_tries: codes of aircraft's logs: there are 31^8, and guesses are few all the same.
        code_tries: codes of sittings: some for a class that mistypes, too few to guess one of 729 million.
        join_tries: places that one device may take: a class behind one address, none that fills a class.
    """

    doors: Mapping[str, tuple[Page, ...]]
    door: Door
    records: Opening
    catalogue: Catalogue
    uploads: Uploads
    flying: Flying
    rooms: Rooms
    shelves: Shelves
    heard: Heard
    answer_queue: AnswerQueue
    hub: Hub
    held_backup: HeldBackup
    login_tries: Tries = field(default_factory=lambda: Tries(5, 2, 20, 6))
    log_tries: Tries = field(default_factory=lambda: Tries(10, 4, 60, 30))
    code_tries: Tries = field(default_factory=lambda: Tries(20, 20, 300, 120))
    join_tries: Tries = field(default_factory=lambda: Tries(400, 30, 1000, 600))


class Speaking:
    """Middleware: whatever is said to people is said in the school's own words, as they are at a request."""

    def __init__(self, app: ASGIApp, shelves: Shelves) -> None:
        self.app = app
        self.shelves = shelves

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request or WebSocket, with the tasks that it starts."""
        if scope["type"] in ("http", "websocket") and not scope["path"].startswith("/static/"):
            self.shelves.words()
            SPOKEN.set(self.shelves.speech)
        await self.app(scope, receive, send)


def create_app(
    catalogue: Catalogue | None = None,
    school: School | Opening | None = None,
    door: Door | None = None,
    folder: Path | None = None,
) -> Starlette:
    """The whole application, drivable in process.

    Args:
        catalogue: what may be chosen and flown; by default the demo and the engine.
        school: the records, or the way to them; by default this user's own, opened when first needed.
        door: how far it is open; to this machine alone when not given.
        folder: of the school's own lessons, scenes and items; by default beside the records.
    """
    records = school if isinstance(school, Opening) else Opening(school)
    door = door or Door()
    catalogue = catalogue or demo_catalogue()
    shelves = Shelves(folder, records.home, partial(carried_now, records))
    uploads, heard = Uploads(catalogue.read_flight), Heard(records)
    app = Starlette(
        routes=[
            get("/", start),
            *(route for one in PAGES for route in one.routes),
            Mount("/static", StaticFiles(directory=STATIC, check_dir=False)),
        ],
        middleware=[
            Middleware(Guard, door=door, records=records),
            Middleware(Hearing, heard=heard),
            Middleware(Speaking, shelves=shelves),
        ],
        exception_handlers=dict.fromkeys((InputError, Unavailable, HTTPException, Exception), answer),
    )
    app.state.shared = State(
        doors=DOORS,
        door=door,
        records=records,
        catalogue=catalogue,
        uploads=uploads,
        flying=Flying(catalogue, uploads),
        rooms=Rooms(
            shelves.scenes_now,
            partial(bench.begins, records),
            partial(teach.scenes_of_lesson, records),
        ),
        shelves=shelves,
        heard=heard,
        answer_queue=AnswerQueue(records),
        hub=Hub(records, heard),
        held_backup=HeldBackup(),
    )
    return app
