"""The live class as a part of the application: its routes, and what they keep while it runs."""

from __future__ import annotations

from starlette.applications import Starlette
from starlette.routing import BaseRoute

from lubberline.store.school import School
from lubberline.web.teach import lines, pages, students
from lubberline.web.teach.hub import Hub
from lubberline.web.teach.keeping import Keeper

ROUTES: list[BaseRoute] = [*students.ROUTES, *pages.ROUTES, *lines.ROUTES]


def equip(app: Starlette, school: School) -> None:
    """Gives the application what the live class keeps: limits on tries, answers on their way, who watches."""
    app.state.code_tries = students.code_tries()
    app.state.join_tries = students.join_tries()
    app.state.keeper = Keeper(school)
    app.state.hub = Hub(school, app.state.heard)
