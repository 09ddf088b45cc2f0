"""The application: routes, refusals and the guard put together."""

from __future__ import annotations

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles

from lubberline.errors import InputError
from lubberline.web import api, bench, pages
from lubberline.web.flying import Flying
from lubberline.web.guard import Guard
from lubberline.web.house import House
from lubberline.web.live import keeping, line
from lubberline.web.live.rooms import Rooms
from lubberline.web.questions import pages as questions
from lubberline.web.refusals import broken, http_refused, input_refused
from lubberline.web.uploads import Uploads


def create_app(house: House | None = None) -> Starlette:
    """The whole application, drivable in process.

    Args:
        house: what may be chosen and flown; the demo and the engine when not given.
    """
    if house is None:
        from lubberline.web.demo import demo_house

        house = demo_house()
    uploads = Uploads(house.read_flight)
    app = Starlette(
        routes=[
            *pages.ROUTES,
            *bench.ROUTES,
            *questions.ROUTES,
            *line.ROUTES,
            *keeping.ROUTES,
            *api.ROUTES,
            Mount("/static", StaticFiles(directory=pages.STATIC, check_dir=False)),
        ],
        middleware=[Middleware(Guard)],
        exception_handlers={InputError: input_refused, HTTPException: http_refused, Exception: broken},
    )
    app.state.flying = Flying(house, uploads)
    app.state.pages = pages.Pages(house, uploads)
    app.state.rooms = Rooms()
    return app
