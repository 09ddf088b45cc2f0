"""The Results pages: the class, a student, the items, and who is ready. For the instructor alone."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.store.school import School
from lubberline.web.framed import framed
from lubberline.web.results import drawn, finding, item_pages, readiness_pages, student_pages
from lubberline.web.results.acting import empty, off_the_loop, shelf
from lubberline.web.results.gathering import Gathered, gather, group_shown

MOST_AGAIN = 6


async def show_class(request: Request) -> Response:
    """GET /results: the class."""

    def act(school: School) -> Response:
        group = group_shown(school, request.query_params.get("group", ""))
        gathered = gather(school, group) if group else None
        if gathered is None or not gathered.answered:
            return empty(request, school, group, "Class")
        finding.make_ready()
        return framed(request, "results_class.html", **_class_given(gathered), **shelf(school, group))

    return await off_the_loop(request, act)


def _class_given(gathered: Gathered) -> dict[str, Any]:
    found, ideas = finding.diagnoses(gathered), finding.columns(gathered)
    rows = []
    for student in gathered.students:
        shares = [gathered.share(student.id, sitting.id) for sitting in gathered.sittings]
        rows.append(
            {
                "id": student.id,
                "name": student.name,
                "number": student.number,
                "marks": [drawn.percent(share) for share in shares],
                "strip": drawn.strip(shares),
                "cells": [drawn.cell(finding.chance(found, student.id, idea["ideas"])) for idea in ideas],
            }
        )
    flags = [
        (sitting, sum(bool(item.flags) for item in finding.statistics(gathered, sitting).items))
        for sitting in gathered.sittings
        if gathered.by_sitting[sitting.id] and sitting.kind == "paper"
    ]
    again = finding.again(gathered)
    return {
        "picture": finding.picture(gathered),
        "again": [(one, [(id, gathered.name(id)) for id in one.students]) for one in again[:MOST_AGAIN]],
        "more_again": max(0, len(again) - MOST_AGAIN),
        "again_bars": [_count_bar(one.expected, one.low, one.high, len(gathered.answered)) for one in again],
        "sittings": gathered.sittings,
        "ideas": ideas,
        "rows": rows,
        "flags": [(sitting, count) for sitting, count in flags if count],
        "examples": [(drawn.cell(p), words) for p, words in _EXAMPLES],
    }


_EXAMPLES: tuple[tuple[float | None, str], ...] = (
    (0.9, "likely held (80% or more)"),
    (0.5, "perhaps (40% or more)"),
    (0.1, "hardly"),
    (None, "nothing asked could show it"),
)


def _count_bar(expected: float, low: int, high: int, of: int) -> Any:
    words = f"about {expected:.0f} of {of}, between {low} and {high}"
    return drawn.bar(expected / of, low / of, high / of, words=words)


ROUTES = [
    Route("/results", show_class, methods=["GET"]),
    *item_pages.ROUTES,
    *readiness_pages.ROUTES,
    *student_pages.ROUTES,
]
