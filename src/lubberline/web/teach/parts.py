"""The live class as a part of the application: its routes."""

from __future__ import annotations

from starlette.routing import BaseRoute

from lubberline.web.teach import lines, pages, students

ROUTES: list[BaseRoute] = [*students.ROUTES, *pages.ROUTES, *lines.ROUTES]
