"""The exam as it is set, and each student's chance to pass it."""

from __future__ import annotations

from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.errors import InputError
from lubberline.questions.bank import TOPICS
from lubberline.store.school import School
from lubberline.web.framed import framed, go_to
from lubberline.web.results import drawn, exam, finding
from lubberline.web.results.acting import empty, off_the_loop, shelf
from lubberline.web.results.gathering import gather, group_shown
from lubberline.web.sent import sent_fields


def _readiness(
    request: Request, school: School, error: InputError | None = None, typed: dict[str, str] | None = None
) -> Response:
    group = group_shown(school, request.query_params.get("group", ""))
    gathered = gather(school, group) if group else None
    if gathered is None or not gathered.answered:
        return empty(request, school, group, "Readiness")
    meant = exam.exam_of(school)
    found = finding.ready(gathered, meant)
    students = sorted(found.students, key=lambda one: one.pass_chance)
    return framed(
        request,
        "results_readiness.html",
        error,
        exam=meant,
        exam_note=exam.note_of(school),
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
        **shelf(school, group),
    )


async def show_readiness(request: Request) -> Response:
    """GET /results/readiness: the exam as it is set, and each student's chance to pass."""
    return await off_the_loop(request, lambda school: _readiness(request, school))


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

    return await off_the_loop(request, act)


ROUTES = [
    Route("/results/readiness", show_readiness, methods=["GET"]),
    Route("/results/readiness", set_exam, methods=["POST"]),
]
