"""The Results pages: the class, a student, the items, and who is ready. For the instructor alone."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Callable
from datetime import UTC, datetime
from html import unescape
from typing import Any
from urllib.parse import quote

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.classroom.records import Group
from lubberline.classroom.statistics_records import PaperStatistics
from lubberline.errors import InputError
from lubberline.publish.course_record import course_record_csv, course_record_pdf
from lubberline.publish.course_record_data import course_record
from lubberline.publish.results_figures import item_map_svg
from lubberline.publish.results_tables import distractors_csv, items_statistics_csv
from lubberline.questions.bank import TOPICS
from lubberline.store.school import School
from lubberline.web.framed import SCHOOL_NAME, file_answer, framed, go_to, refused, school_of
from lubberline.web.pages import THEMES
from lubberline.web.questions.asked import sent_fields
from lubberline.web.results import drawn, exam, finding
from lubberline.web.results.gathering import Gathered, gather, group_shown
from lubberline.web.sittings.starting import asked_of_items

MOST_AGAIN = 6


async def _off_the_loop(request: Request, act: Callable[[School], Response]) -> Response:
    """Does something in a thread; what is wrong is told on a page of its own."""

    def doing() -> Response:
        try:
            return act(school_of(request.app))
        except InputError as error:
            return refused(request, error, "/results", 404 if error.where in ("student", "class") else 422)

    return await to_thread.run_sync(doing)


def _shelf(school: School, group: Group | None) -> dict[str, Any]:
    return {"groups": school.groups(), "group": group}


def _empty(request: Request, school: School, group: Group | None, here: str) -> Response:
    return framed(request, "results_empty.html", here=here, **_shelf(school, group))


async def show_class(request: Request) -> Response:
    """GET /results: the class."""

    def act(school: School) -> Response:
        group = group_shown(school, request.query_params.get("group", ""))
        gathered = gather(school, group) if group else None
        if gathered is None or not gathered.answered:
            return _empty(request, school, group, "Class")
        finding.make_ready()
        return framed(request, "results_class.html", **_class_given(gathered), **_shelf(school, group))

    return await _off_the_loop(request, act)


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


def _of_student(school: School, id: str) -> tuple[Gathered, Any]:
    student = school.student(id)
    group = next(one for one in school.groups() if one.id == student.group)
    return gather(school, group), student


async def show_student(request: Request) -> Response:
    """GET /results/student/ID: what one student seems to think, with the answers that led to it."""
    return await _off_the_loop(request, lambda school: _student(request, school))


def _student(request: Request, school: School, error: InputError | None = None) -> Response:
    gathered, student = _of_student(school, request.path_params["student"])
    diagnosis = finding.diagnoses(gathered).get(student.id)
    marks = gathered.by_student.get(student.id, [])
    shown_exam = exam.exam_of(school)
    laws = diagnosis.laws if diagnosis else ()
    topics = finding.by_topic(marks)
    ready = finding.readiness_of(gathered, shown_exam, student.id) if marks else None
    titles = {sitting.id: sitting.title for sitting in gathered.sittings}
    return framed(
        request,
        "results_student.html",
        error,
        student=student,
        diagnosis=diagnosis,
        beliefs=[law for law in laws if law.verdict in ("holds", "perhaps", "other")],
        known=[law for law in laws if law.verdict == "knows"],
        unclear=[law for law in laws if law.verdict == "unclear"],
        not_asked=[law for law in laws if law.verdict == "not asked"],
        bar=drawn.bar,
        percent=drawn.percent,
        chance=drawn.chance,
        titles=titles,
        topics=topics,
        sat=[
            (sitting, drawn.percent(share))
            for sitting in gathered.sittings
            if (share := gathered.share(student.id, sitting.id)) is not None
        ],
        exam=shown_exam,
        ready=ready,
        next=finding.next_items(gathered, student.id) if diagnosis else (),
        **_shelf(school, gathered.group),
    )


async def practise(request: Request) -> Response:
    """POST /results/student/ID/practice: a paper of the questions that would tell most."""
    await sent_fields(request)

    def act(school: School) -> Response:
        gathered, student = _of_student(school, request.path_params["student"])
        items = [one.item for one in finding.next_items(gathered, student.id)]
        if not items:
            raise InputError("practice", "no question would tell more", "let the student answer some first")
        title = f"Practice: {student.name}"[:60]
        made = school.add_sitting(student.group, "paper", title, asked_of_items(items))
        return go_to(f"/sittings/{made.id}", "added")

    return await _off_the_loop(request, act)


async def change_student(request: Request) -> Response:
    """POST /results/student/ID: another name or number, or everything about the student deleted."""
    fields = dict(await sent_fields(request))

    def act(school: School) -> Response:
        student = school.student(request.path_params["student"])
        try:
            if fields.get("do") == "delete":
                if fields.get("sure") != "1":
                    right = "tick the box: nothing brings it back but a backup"
                    raise InputError("delete", "it was not confirmed", right)
                school.forget_student(student.id)
                return go_to(f"/results?group={student.group}", "deleted")
            school.rename_student(student.id, fields.get("name", ""), fields.get("number", ""))
        except InputError as error:
            return _student(request, school, error)
        return go_to(f"/results/student/{student.id}", "kept")

    return await _off_the_loop(request, act)


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

    return await _off_the_loop(request, act)


async def take_record(request: Request) -> Response:
    """GET /results/student/ID/record.pdf and record.csv: the course record, to print and sign."""
    kinds = {"record.pdf": "application/pdf", "record.csv": "text/csv; charset=utf-8"}

    def act(school: School) -> Response:
        name = request.path_params["file"]
        if name not in kinds:
            raise InputError("file", f"there is no '{name[:40]}'", " or ".join(kinds))
        gathered, student = _of_student(school, request.path_params["student"])
        record = course_record(
            student,
            gathered.group,
            gathered.sittings,
            gathered.by_student.get(student.id, []),
            places=school.places_of(student.id),
            corrections=[one for each in gathered.sittings for one in school.corrections(each.id)],
            school=school.setting(SCHOOL_NAME),
            made_on=datetime.now(UTC).strftime("%Y-%m-%d"),
        )
        made = course_record_pdf(record) if name == "record.pdf" else course_record_csv(record)
        return file_answer(name, made, kinds[name])

    return await _off_the_loop(request, act)


async def show_items(request: Request) -> Response:
    """GET /results/items: what the answers say of the questions."""

    def act(school: School) -> Response:
        query = request.query_params
        group = group_shown(school, query.get("group", ""))
        gathered = gather(school, group) if group else None
        sat = [one for one in gathered.sittings if gathered.by_sitting[one.id]] if gathered else []
        if gathered is None or not sat:
            return _empty(request, school, group, "Items")
        wanted = query.get("sitting", "")
        sitting = next((one for one in sat if one.id == wanted), sat[-1])
        found = finding.statistics(gathered, sitting)
        return framed(
            request,
            "results_items.html",
            sat=list(reversed(sat)),
            sitting=sitting,
            found=found,
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
            **_shelf(school, group),
        )

    return await _off_the_loop(request, act)


def _readiness(
    request: Request, school: School, error: InputError | None = None, typed: dict[str, str] | None = None
) -> Response:
    group = group_shown(school, request.query_params.get("group", ""))
    gathered = gather(school, group) if group else None
    if gathered is None or not gathered.answered:
        return _empty(request, school, group, "Readiness")
    meant = exam.exam_of(school)
    found = finding.ready(gathered, meant)
    students = sorted(found.students, key=lambda one: one.pass_chance)
    return framed(
        request,
        "results_readiness.html",
        error,
        exam=meant,
        rows=exam.rows_of(meant, typed),
        title=(typed or {}).get("title", meant.title),
        mark=(typed or {}).get("mark", f"{100 * meant.mark:g}"),
        topics=TOPICS,
        found=found,
        students=[
            (
                one,
                gathered.name(one.student),
                drawn.bar(
                    one.pass_chance,
                    one.low,
                    one.high,
                    words=f"{drawn.chance(one.pass_chance)}, between {drawn.chance(one.low)} "
                    f"and {drawn.chance(one.high)}",
                ),
            )
            for one in students
        ],
        percent=drawn.percent,
        chance=drawn.chance,
        **_shelf(school, group),
    )


async def show_readiness(request: Request) -> Response:
    """GET /results/readiness: the exam as it is set, and each student's chance to pass."""
    return await _off_the_loop(request, lambda school: _readiness(request, school))


async def set_exam(request: Request) -> Response:
    """POST /results/readiness: another exam."""
    fields = dict(await sent_fields(request))

    def act(school: School) -> Response:
        try:
            exam.keep_exam(school, exam.exam_from(fields))
        except InputError as error:
            return _readiness(request, school, error, fields)
        group = request.query_params.get("group", "")
        return go_to(f"/results/readiness?group={quote(group, safe='')}", "kept")

    return await _off_the_loop(request, act)


ROUTES = [
    Route("/results", show_class, methods=["GET"]),
    Route("/results/items", show_items, methods=["GET"]),
    Route("/results/items/{sitting}/{file}", take_items, methods=["GET"]),
    Route("/results/readiness", show_readiness, methods=["GET"]),
    Route("/results/readiness", set_exam, methods=["POST"]),
    Route("/results/student/{student}", show_student, methods=["GET"]),
    Route("/results/student/{student}", change_student, methods=["POST"]),
    Route("/results/student/{student}/practice", practise, methods=["POST"]),
    Route("/results/student/{student}/{file}", take_record, methods=["GET"]),
]
