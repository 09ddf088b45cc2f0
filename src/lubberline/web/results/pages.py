"""The Results pages: the class, its questions, and who is ready for the exam. For the instructor only."""

import re
from base64 import b64encode
from html import unescape
from typing import Any
from urllib.parse import quote

from lubberline.classroom.records import NOT_CHOSEN, Sitting
from lubberline.classroom.statistics import PaperStatistics
from lubberline.publish.figures.results_figures import item_map_svg
from lubberline.publish.reports.results_tables import distractors_csv, items_statistics_csv
from lubberline.questions.bank import TOPICS
from lubberline.questions.item import LETTERS
from lubberline.web.kit import (
    NO_FORM,
    Form,
    InputError,
    Page,
    Request,
    Response,
    Room,
    School,
    check_known,
    file,
    get,
    go_to,
    home_for,
    page,
    post,
    records,
    theme_of,
)
from lubberline.web.records import demo_found
from lubberline.web.results import drawings, exam, findings
from lubberline.web.results import student as one_student
from lubberline.web.results.findings import Gathered, gather, group_shown

MOST_AGAIN = 6
ITEM_FILES = {"statistics.csv": items_statistics_csv, "answered.csv": distractors_csv}


def _class_shown(request: Request) -> tuple[Gathered | None, dict[str, Any]]:
    """The answers of the class in an address, and the data that all the pages show.

    The first is None if there are no answers.
    """
    school = records(request)
    group = group_shown(school, request.query_params.get("group", ""))
    gathered = gather(school, group) if group else None
    shown = {
        "groups": school.people.groups(),
        "group": group,
        "of_class": f"?group={group.id}" if group else "",
    }
    return (gathered if gathered and gathered.answered else None), shown


def _empty(request: Request, shown: dict[str, Any]) -> Response:
    """The purpose of a page, before there are any answers."""
    return page(request, "results/empty.html", demo=demo_found(records(request)), **shown)


# The class


def show_class(request: Request) -> Response:
    """GET /results: the class."""
    gathered, shown = _class_shown(request)
    if gathered is None:
        return _empty(request, shown)
    findings.make_ready(home_for(request))
    return page(request, "results/class.html", **_class_given(gathered), **shown)


def _class_given(gathered: Gathered) -> dict[str, Any]:
    found, ideas = findings.diagnoses(gathered), findings.columns(gathered)
    shares = {
        student: [gathered.share(student.id, sitting.id) for sitting in gathered.sittings]
        for student in gathered.students
    }
    rows = [
        {
            "id": student.id,
            "name": student.name,
            "number": student.number,
            "marks": [drawings.percent(share) for share in own],
            "strip": drawings.strip(own),
            "cells": [drawings.cell(findings.chance(found, student.id, idea["ideas"])) for idea in ideas],
        }
        for student, own in shares.items()
    ]
    flags = [
        (sitting, sum(bool(item.flags) for item in findings.statistics(gathered, sitting).items))
        for sitting in gathered.sittings
        if gathered.by_sitting[sitting.id] and sitting.kind == "paper"
    ]
    again = findings.again(gathered)
    return {
        "picture": findings.picture(gathered),
        "again": [(one, [(id, gathered.name(id)) for id in one.students]) for one in again[:MOST_AGAIN]],
        "more_again": max(0, len(again) - MOST_AGAIN),
        "again_bars": [_count_bar(one.expected, one.low, one.high, len(gathered.answered)) for one in again],
        "sittings": gathered.sittings,
        "ideas": ideas,
        "rows": rows,
        "flags": [(sitting, count) for sitting, count in flags if count],
        "examples": [(drawings.cell(p), words) for p, words in _EXAMPLES],
    }


_EXAMPLES: tuple[tuple[float | None, str], ...] = (
    (0.92, "likely held (90% or more)"),
    (0.5, "perhaps (40% or more)"),
    (0.1, "unlikely"),
    (None, "not asked"),
)


def _count_bar(expected: float, low: int, high: int, of: int) -> Any:
    words = f"about {expected:.0f} of {of}, between {low} and {high}"
    return drawings.bar(expected / of, low / of, high / of, words=words)


# Its questions


def _figure(request: Request, found: PaperStatistics) -> dict[str, Any]:
    """All questions in one figure, as an image with its own colours."""
    svg = item_map_svg(found, theme=theme_of(request))
    size = re.search(r'width="([0-9.]+)" height="([0-9.]+)"', svg)
    told = re.search(r"<desc[^>]*>(.*?)</desc>", svg, re.DOTALL)
    return {
        "src": f"data:image/svg+xml;base64,{b64encode(svg.encode()).decode()}",
        "alt": unescape(told[1]) if told else "",
        "width": size[1] if size else "760",
        "height": size[2] if size else "800",
    }


def _gone(school: School, sitting: Sitting) -> tuple[int, list[str]]:
    """How many students of a sitting have been deleted, and their answers by question."""
    students, by_key = 0, dict[str, list[str]]()
    items = {asked.key: asked.item for asked in sitting.asked}
    for one in school.bin.forgotten(sitting.id):
        if not one.key:
            students += one.count
            continue
        if one.chosen == NOT_CHOSEN or one.key not in items:
            given = "a number"
        elif sitting.kind == "lesson":
            given = f"‘{items[one.key].options[one.chosen].text}’"
        else:
            given = LETTERS[one.chosen]
        by_key.setdefault(one.key, []).append(f"{given} {one.count}")
    order = [asked.key for asked in sitting.asked if asked.key in by_key]
    return students, [f"{key}: {', '.join(by_key[key])}" for key in order]


def take_items(request: Request) -> Response:
    """GET /results/items/SITTING/NAME.csv: the statistics, or who answered what, as CSV."""
    school = records(request)
    sitting = school.sittings.sitting(request.path_params["sitting"])
    name = request.path_params["file"]
    check_known("file", "file", name, ITEM_FILES)
    group = next(one for one in school.people.groups() if one.id == sitting.group)
    return file(name, ITEM_FILES[name](findings.statistics(gather(school, group), sitting)))


def show_items(request: Request) -> Response:
    """GET /results/items: statistics of the questions."""
    gathered, shown = _class_shown(request)
    if gathered is None:
        return _empty(request, shown)
    sat = [one for one in gathered.sittings if gathered.by_sitting[one.id]]
    wanted = request.query_params.get("sitting", "")
    sitting = next((one for one in sat if one.id == wanted), sat[-1])
    found = findings.statistics(gathered, sitting)
    gone, gone_answers = _gone(records(request), sitting)
    return page(
        request,
        "results/items.html",
        sat=list(reversed(sat)),
        sitting=sitting,
        found=found,
        gone=gone,
        gone_answers=gone_answers,
        figure=_figure(request, found),
        bars=[
            drawings.bar(
                one.right_share,
                one.right_low,
                one.right_high,
                words=f"{drawings.percent(one.right_share)}, between {drawings.percent(one.right_low)} "
                f"and {drawings.percent(one.right_high)}",
            )
            for one in found.items
        ],
        percent=drawings.percent,
        **shown,
    )


# Who is ready


def show_readiness(request: Request, form: Form = NO_FORM, error: InputError | None = None) -> Response:
    """GET /results/readiness: the exam, and each student's chance of passing."""
    school = records(request)
    gathered, shown = _class_shown(request)
    if gathered is None:
        return _empty(request, shown)
    meant = exam.exam_of(school)
    found = findings.ready(gathered, meant)
    return page(
        request,
        "results/readiness.html",
        error,
        exam=meant,
        exam_note=exam.note_of(school),
        rows=exam.rows_of(meant, form),
        title=form.get("title", meant.title),
        mark=form.get("mark", f"{100 * meant.mark:g}"),
        topics=TOPICS,
        found=found,
        students=[
            (
                one,
                gathered.name(one.student),
                drawings.bar(
                    one.pass_chance,
                    one.low,
                    one.high,
                    words=f"{drawings.chance(one.pass_chance)}, between {drawings.chance(one.low)} "
                    f"and {drawings.chance(one.high)}",
                ),
            )
            for one in sorted(found.students, key=lambda one: one.pass_chance)
        ],
        percent=drawings.percent,
        chance=drawings.chance,
        **shown,
    )


def set_exam(request: Request, form: Form) -> Response:
    """POST /results/readiness: saves an exam."""
    exam.keep_exam(records(request), exam.exam_from(form))
    group = request.query_params.get("group", "")
    return go_to(f"/results/readiness?group={quote(group, safe='')}", "kept")


PAGE = Page(
    "/results",
    "Results",
    [
        get("/results", show_class),
        get("/results/items", show_items),
        get("/results/items/{sitting}/{file}", take_items),
        get("/results/readiness", show_readiness),
        post("/results/readiness", set_exam, show_readiness),
        *one_student.ROUTES,
    ],
    is_of_class=True,
    more=[Room("/results/items", "Items", True), Room("/results/readiness", "Readiness", True)],
)
