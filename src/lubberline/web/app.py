"""The application: routes, refusals and the guard put together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles

from lubberline.errors import InputError, Unavailable
from lubberline.web import api, bench, login, pages
from lubberline.web.aircraft import pages as aircraft
from lubberline.web.aircraft.codes import new_tries
from lubberline.web.aircraft.judged import Judging
from lubberline.web.flying import Flying
from lubberline.web.guard import Guard
from lubberline.web.heard import Heard, Hearing
from lubberline.web.house import House
from lubberline.web.late_school import late_school
from lubberline.web.lessons import pages as lessons
from lubberline.web.lessons.shelf import Shelf
from lubberline.web.live import keeping, line
from lubberline.web.live.rooms import Rooms
from lubberline.web.questions import pages as questions
from lubberline.web.refusals import broken, input_refused
from lubberline.web.results import pages as results
from lubberline.web.school import pages as school_page
from lubberline.web.school.restoring import HeldBackup
from lubberline.web.sides import Door
from lubberline.web.sittings import pages as sittings
from lubberline.web.sittings import students as sitting_students
from lubberline.web.teach import parts as teach
from lubberline.web.unavailable import nothing_here, records_away
from lubberline.web.uploads import Uploads

if TYPE_CHECKING:
    from lubberline.store.school import School


def create_app(
    house: House | None = None, school: School | None = None, door: Door | None = None
) -> Starlette:
    """The whole application, drivable in process.

    Args:
        house: what may be chosen and flown; the demo and the engine when not given.
        school: the records; this user's own, opened when first asked for, when not given.
        door: how far it is open; to this machine alone when not given.
    """
    school = school or late_school()
    door = door or Door()
    if house is None:
        from lubberline.web.demo import demo_house

        house = demo_house()
    uploads, heard = Uploads(house.read_flight), Heard(school)
    app = Starlette(
        routes=[
            *pages.ROUTES,
            *login.ROUTES,
            *bench.ROUTES,
            *questions.ROUTES,
            *lessons.ROUTES,
            *sittings.ROUTES,
            *sitting_students.ROUTES,
            *results.ROUTES,
            *school_page.ROUTES,
            *line.ROUTES,
            *keeping.ROUTES,
            *aircraft.ROUTES,
            *api.ROUTES,
            *teach.ROUTES,
            Mount("/static", StaticFiles(directory=pages.STATIC, check_dir=False)),
        ],
        middleware=[Middleware(Guard, door=door, school=school), Middleware(Hearing, heard=heard)],
        exception_handlers={
            InputError: input_refused,
            Unavailable: records_away,
            HTTPException: nothing_here,
            Exception: broken,
        },
    )
    app.state.flying = Flying(house, uploads)
    app.state.pages = pages.Pages(house, uploads)
    app.state.rooms = Rooms()
    app.state.judging, app.state.log_tries = Judging(), new_tries()
    app.state.school = school
    app.state.lessons = Shelf()
    app.state.door = door
    app.state.heard = heard
    app.state.login_tries = login.new_tries()
    app.state.held_backup = HeldBackup()
    teach.equip(app, school)
    return app
