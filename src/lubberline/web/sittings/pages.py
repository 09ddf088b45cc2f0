"""The instructor's pages of sittings: the list, and one sitting, during and after it."""

from typing import Any

from lubberline.classroom.marking import score
from lubberline.classroom.records import Sitting
from lubberline.publish.reports.results_tables import marks_csv, points_text, table_csv
from lubberline.store.database.outage import WORDS
from lubberline.store.settings import SIGNED_BY
from lubberline.web.kit import (
    Form,
    InputError,
    Page,
    Request,
    Response,
    check_known,
    file,
    get,
    go_to,
    page,
    post,
    qr_picture,
    records,
    shared,
)
from lubberline.web.phones import Phones
from lubberline.web.records import away, demo_found
from lubberline.web.sittings import (
    corrections,
    join,
    late_answers,
    new_sitting,
    paper_answers,
    student_paper,
)
from lubberline.web.sittings.late_answers import late_rows
from lubberline.web.sittings.roll import Roll, roll_of, sitting_of, trail_words


def _state_of(sitting: Sitting) -> str:
    """The state of a sitting in a word or two."""
    if not sitting.closed_utc:
        return "open"
    return "closed, marks shown" if sitting.phase == "shown" else "closed"


def show_list(request: Request) -> Response:
    """GET /sittings: all sittings, the latest first."""
    school = records(request)
    groups = {group.id: group.title for group in school.people.groups()}
    rows = [
        {
            "id": sitting.id,
            "title": sitting.title,
            "group": groups.get(sitting.group, ""),
            "kind": sitting.kind,
            "opened": sitting.opened_utc,
            "state": _state_of(sitting),
            "on_paper": sitting.on_paper,
            "count": len(places),
            "ended": sum(bool(place.ended_utc) for place in places),
        }
        for sitting in school.sittings.listing()
        for places in (school.sittings.places(sitting.id),)
    ]
    return page(request, "sittings/list.html", rows=rows, demo=demo_found(school))


def _now_given(request: Request) -> dict[str, Any]:
    """The parts that change while a sitting runs."""
    school, sitting = sitting_of(request)
    found = roll_of(school, sitting)
    runs = not (sitting.closed_utc or sitting.on_paper)
    working = {row["id"] for row in found.rows if not row["over"]}
    why = away(school) if runs else None
    phones = shared(request).heard.of(sitting.id, school.sittings.places(sitting.id)) if runs else Phones()
    return {
        "sitting": sitting,
        "state": _state_of(sitting),
        "rows": found.rows,
        "has_forms": bool(sitting.forms),
        "ended": sum(row["ended"] for row in found.rows),
        "struck": found.struck,
        "late": late_rows(school, sitting),
        "silent": phones.silent & working,
        "waiting": phones.waiting,
        "away": WORDS[why][0] if why else "",
        # While a paper runs, this page is often on the projector to show the code.
        "shows_marks": bool(sitting.closed_utc or sitting.on_paper or sitting.kind == "lesson"),
    }


def show_one(request: Request, bad_lines: tuple[InputError, ...] = (), good_lines: int = 0) -> Response:
    """GET /sittings/ID: the sitting as it is now, and what came of a file that was read."""
    school, sitting = sitting_of(request)
    students = school.people.students(sitting.group)
    names = {one.id: one.name for one in students}
    here = {place.student for place in school.sittings.places(sitting.id)}
    joins = bool(sitting.code and not sitting.closed_utc and not sitting.on_paper)
    address, door = join.join_address(request, sitting), shared(request).door
    return page(
        request,
        "sittings/one.html",
        **_now_given(request),
        group=next((one.title for one in school.people.groups() if one.id == sitting.group), ""),
        forms=sitting.forms,
        questions=len(sitting.asked_in(sitting.forms[0] if sitting.forms else "")),
        trail=[
            (trail_words(sitting, one), names.get(one.student, ""))
            for one in school.answers.corrections_of(sitting.id)
        ],
        keys=[asked.key for asked in sitting.asked],
        absent=[one for one in students if one.id not in here],
        joins=joins,
        address=address,
        only_here=not (door.lan or door.behind),
        # As people read it out: two groups of three.
        code=f"{sitting.code[:3]} {sitting.code[3:]}",
        spelled=join.spelled(sitting.code),
        picture=qr_picture(address, 6) if joins else "",
        signed_by=school.settings.get(SIGNED_BY),
        class_said=request.query_params.get("class", "") if not here else "",
        bad_lines=bad_lines,
        good_lines=good_lines,
    )


def show_now(request: Request) -> Response:
    """GET /sittings/ID/now: the roll, for a page that refreshes every few seconds."""
    return page(request, "sittings/_roll.html", **_now_given(request))


def read_file(request: Request, form: Form) -> Response:
    """POST /sittings/ID/read: answers from CSV; good lines are saved, the others listed."""
    found = paper_answers.keep_file(*sitting_of(request), form.file)
    return show_one(request, found.refused, len(found.answers))


MOVES: dict[str, tuple[dict[str, Any], str]] = {
    "close": ({"closed": True}, "closed"),
    "open again": ({"closed": False, "phase": "open"}, "opened"),
    "show marks": ({"phase": "shown"}, "released"),
    "hide marks": ({"phase": "closed"}, "hidden"),
}


def move(request: Request, form: Form) -> Response:
    """POST /sittings/ID/move: closes, opens again, shows or hides the marks."""
    school, sitting = sitting_of(request)
    wanted, done = MOVES.get(form.get("do", ""), ({}, ""))
    if not done:
        raise InputError("do", "unknown action", " or ".join(MOVES))
    if done == "released" and not sitting.closed_utc:
        raise InputError("sitting", "it is open: marks would help the others", "close it first")
    school.sittings.move(sitting.id, **wanted)
    return go_to(f"/sittings/{sitting.id}", done)


def totals_csv(roll: Roll) -> bytes:
    """A row for each student, even without answers: points, questions counted, percent."""
    head = ("name", "number", "form", "points", "questions", "percent", "handed in")
    rows = []
    for row in roll.rows:
        points, count = score(roll.marks.get(row["id"], {}).values())
        percent = f"{100.0 * points / count:.1f}" if count else ""
        ended = "yes" if row["ended"] else "no"
        who = (row["name"], row["number"], row["form"])
        rows.append((*who, points_text(points), count, percent, ended))
    return table_csv(head, rows)


def answers_csv(roll: Roll) -> bytes:
    """A row for each student and question: the answer, its points, and the wrong idea it fits."""
    names = {row["id"]: row["name"] for row in roll.rows}
    marks = [mark for row in roll.rows for mark in roll.marks.get(row["id"], {}).values()]
    return marks_csv(marks, names, lettered=roll.lettered)


FILES = {"marks.csv": totals_csv, "answers.csv": answers_csv}


def take_file(request: Request) -> Response:
    """GET /sittings/ID/marks.csv and answers.csv."""
    school, sitting = sitting_of(request)
    name = request.path_params["file"]
    check_known("file", "file", name, FILES)
    return file(name, FILES[name](roll_of(school, sitting)))


PAGE = Page(
    "/sittings",
    "Sittings",
    [
        get("/sittings", show_list),
        *new_sitting.ROUTES,
        get("/sittings/{sitting}", show_one),
        get("/sittings/{sitting}/now", show_now),
        post("/sittings/{sitting}/move", move),
        post("/sittings/{sitting}/read", read_file, file_bytes=paper_answers.CSV_LIMIT_BYTES),
        *corrections.ROUTES,
        *late_answers.ROUTES,
        *paper_answers.ROUTES,
        get("/sittings/{sitting}/{file}", take_file),
        *join.ROUTES,
        *student_paper.ROUTES,
    ],
)
