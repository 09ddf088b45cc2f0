"""What the answers say of the questions."""

from __future__ import annotations

import re
from base64 import b64encode
from html import unescape
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.classroom.marking import LETTERS
from lubberline.classroom.records import NOT_CHOSEN, Sitting
from lubberline.classroom.statistics import PaperStatistics
from lubberline.errors import InputError
from lubberline.publish.figures.results_figures import item_map_svg
from lubberline.publish.reports.results_tables import distractors_csv, items_statistics_csv
from lubberline.store.school import School
from lubberline.web.framed import file_answer, framed
from lubberline.web.kit import THEMES
from lubberline.web.results import drawn, finding
from lubberline.web.results.acting import empty, off_the_loop, shelf
from lubberline.web.results.gathering import gather, group_shown


def _figure(request: Request, found: PaperStatistics) -> dict[str, Any]:
    """The questions in one drawing, as a picture that the page's own inks don't reach."""
    theme = request.cookies.get("theme", "auto")
    svg = item_map_svg(found, theme=theme if theme in THEMES else "auto")
    size = re.search(r'width="([0-9.]+)" height="([0-9.]+)"', svg)
    told = re.search(r"<desc[^>]*>(.*?)</desc>", svg, re.DOTALL)
    return {
        "src": f"data:image/svg+xml;base64,{b64encode(svg.encode()).decode()}",
        "alt": unescape(told[1]) if told else "",
        "width": size[1] if size else "760",
        "height": size[2] if size else "800",
    }


def _gone(school: School, sitting: Sitting) -> tuple[int, list[str]]:
    """How many students of a sitting were deleted since, and what they answered, by question."""
    students, by_key = 0, dict[str, list[str]]()
    for one in school.forgotten(sitting.id):
        if not one.key:
            students += one.count
            continue
        letter = LETTERS[one.chosen] if one.chosen != NOT_CHOSEN else "a number"
        by_key.setdefault(one.key, []).append(f"{letter} {one.count}")
    order = [asked.key for asked in sitting.asked if asked.key in by_key]
    return students, [f"{key}: {', '.join(by_key[key])}" for key in order]


async def take_items(request: Request) -> Response:
    """GET /results/items/SITTING/NAME.csv: the statistics, or who answered what, as CSV."""
    makers = {"statistics.csv": items_statistics_csv, "answered.csv": distractors_csv}

    def act(school: School) -> Response:
        sitting = school.sitting(request.path_params["sitting"])
        name = request.path_params["file"]
        if name not in makers:
            raise InputError("file", f"there is no '{name[:40]}'", " or ".join(makers))
        group = next(one for one in school.groups() if one.id == sitting.group)
        found = finding.statistics(gather(school, group), sitting)
        return file_answer(name, makers[name](found), "text/csv; charset=utf-8")

    return await off_the_loop(request, act)


async def show_items(request: Request) -> Response:
    """GET /results/items: what the answers say of the questions."""

    def act(school: School) -> Response:
        query = request.query_params
        group = group_shown(school, query.get("group", ""))
        gathered = gather(school, group) if group else None
        sat = [one for one in gathered.sittings if gathered.by_sitting[one.id]] if gathered else []
        if gathered is None or not sat:
            return empty(request, school, group, "Items")
        wanted = query.get("sitting", "")
        sitting = next((one for one in sat if one.id == wanted), sat[-1])
        found = finding.statistics(gathered, sitting)
        gone, gone_answers = _gone(school, sitting)
        return framed(
            request,
            "results_items.html",
            sat=list(reversed(sat)),
            sitting=sitting,
            found=found,
            gone=gone,
            gone_answers=gone_answers,
            figure=_figure(request, found),
            bars=[
                drawn.bar(
                    one.right_share,
                    one.right_low,
                    one.right_high,
                    words=f"{drawn.percent(one.right_share)}, between {drawn.percent(one.right_low)} "
                    f"and {drawn.percent(one.right_high)}",
                )
                for one in found.items
            ],
            percent=drawn.percent,
            **shelf(school, group),
        )

    return await off_the_loop(request, act)


ROUTES = [
    Route("/results/items", show_items, methods=["GET"]),
    Route("/results/items/{sitting}/{file}", take_items, methods=["GET"]),
]
