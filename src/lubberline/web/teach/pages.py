"""The instructor's pages of a live lesson: choosing, leading, and the projector."""

import hashlib
import io
import threading
from collections.abc import Callable
from contextlib import suppress
from typing import Any

import msgspec
import segno

from lubberline.classroom.lessons import teaching
from lubberline.classroom.lessons.file import read_lesson, with_own_scenes
from lubberline.classroom.lessons.lesson import Lesson
from lubberline.classroom.lessons.questions import taught_lesson
from lubberline.classroom.records import Sitting
from lubberline.simulation.scenes import Library
from lubberline.store.fleet import demo_folder, home_of
from lubberline.web import passphrase
from lubberline.web.callers import lan_addresses
from lubberline.web.kit import (
    NO_FORM,
    Form,
    InputError,
    Page,
    Refused,
    Request,
    Response,
    Route,
    School,
    as_json,
    get,
    go_to,
    page,
    post,
    records,
    required,
    run_in_threadpool,
    shared,
)
from lubberline.web.records import Opening, away
from lubberline.web.shelf import Shelves
from lubberline.web.sittings.join import join_address, join_base, spelled
from lubberline.web.sittings.new_sitting import class_meant, real_groups
from lubberline.web.teach import lines, phone
from lubberline.web.teach.views import Contact, Snapshot, contact_of, lesson_of, lesson_sitting

GREATEST_FILE_BYTES = 200_000
GREATEST_JSON_BYTES = 4_000
BENCH = "class-"
# Nobody else may move the lesson between reading its step and moving it.
_MOVING = threading.Lock()


class SentMove(msgspec.Struct, forbid_unknown_fields=True):
    """The action asked for, and the step and phase shown on the instructor's page.

    Attributes:
        do: the action.
        step: that the page shows.
        phase: of it.
        to: the step to go to; for a countdown its seconds, 0 to end it.
        closes: whether the question is closed at the end of the countdown.
    """

    do: teaching.Do
    step: int
    phase: str
    to: int = teaching.JOINING
    closes: bool = False


def lessons_listed(shelves: Shelves) -> dict[str, Lesson]:
    """Own lessons, then demo lessons without an own copy; lessons with errors are left out."""
    found: dict[str, Lesson] = {}
    folder, own = shelves.by_kind["lesson"].folder, shelves.own()
    for path in [*sorted(folder.glob("*.md")), *sorted((demo_folder() / "lessons").glob("*.md"))]:
        with suppress(InputError):
            found.setdefault(path.stem, read_lesson(path, *own))
    return found


def bench_of(id: str) -> str:
    """The name of the bench that the projector of a sitting plays on."""
    return BENCH + hashlib.sha256(id.encode()).hexdigest()[:12]


def scenes_of_lesson(opening: Opening, bench: str) -> Library | None:
    """The scenes of the lesson whose projector plays on a bench, as they were when the lesson was opened.

    None for any other bench, and for a lesson that plays none of the school's own.
    """
    if not bench.startswith(BENCH):
        return None
    school = opening()
    for one in school.sittings.listing():
        if one.kind == "lesson" and bench_of(one.id) == bench:
            scenes = lesson_of(school.sittings.sitting(one.id).source).lesson.scenes
            return scenes if scenes.own else None
    return None


def choose(request: Request, form: Form = NO_FORM, error: InputError | None = None) -> Response:
    """GET /teach: which lesson, with which class."""
    school = records(request)
    return page(
        request,
        "teach/choose.html",
        error,
        lessons=lessons_listed(shared(request).shelves),
        groups=real_groups(school),
        going=[one for one in school.sittings.listing() if one.kind == "lesson" and not one.closed_utc],
        locked=passphrase.is_set(school),
    )


def _chosen(request: Request, form: Form) -> Lesson:
    """The lesson sent or chosen.

    Raises:
        InputError: neither, or not a lesson file.
    """
    if form.file:
        return shared(request).shelves.lesson(form.file.name, form.file.text)
    return required(
        lessons_listed(shared(request).shelves).get(form.get("lesson", "")),
        InputError("lesson", "none chosen", "choose one from the list, or your own file"),
    )


def _begun(school: School, lesson: Lesson, group: str, new_group: str) -> tuple[Sitting, str]:
    """A new sitting of a lesson, and how its class was chosen: see `ClassMeant`.

    Raises:
        InputError: no class, or a lesson that disagrees with the engine.
    """
    source = with_own_scenes(lesson)
    lesson_of(source)
    meant = class_meant(school, group, new_group)
    before = school.sittings.listing(meant.id) if meant.id else ()
    taught_before = sum(one.title == lesson.title for one in before)
    # When a lesson is taught again, its quiz has different numbers.
    asked = taught_lesson(lesson, taught_before, home=home_of(school)).asked
    sitting = school.sittings.add(meant.made(school), "lesson", lesson.title, asked, source=source)
    return school.sittings.move(sitting.id, step=teaching.JOINING, phase=teaching.CLOSED), meant.said


def begin(request: Request, form: Form) -> Response:
    """POST /teach: opens a sitting of the lesson for the class to join."""
    group, title = form.get("group", ""), form.get("new_group", "").strip()
    sitting, said = _begun(records(request), _chosen(request, form), group, title)
    return go_to(f"/teach/{sitting.id}{f'?class={said}' if said else ''}")


def _snapshot(request: Request) -> Snapshot:
    return Snapshot(records(request), request.path_params["sitting"])


def lead(request: Request) -> Response:
    """GET /teach/SITTING: the instructor's own view."""
    snapshot, door = _snapshot(request), shared(request).door
    groups = records(request).people.groups()
    return page(
        request,
        "teach/lead.html",
        sitting=snapshot.sitting,
        view=msgspec.json.decode(snapshot.for_instructor),
        address=_shown_address(request),
        group=next((one.title for one in groups if one.id == snapshot.sitting.group), ""),
        class_said=request.query_params.get("class", ""),
        others=lan_addresses()[1:] if door.lan else (),
        is_open=door.lan or bool(door.behind),
    )


def projector(request: Request) -> Response:
    """GET /teach/SITTING/projector: what the class sees."""
    snapshot = _snapshot(request)
    return page(
        request,
        "teach/projector.html",
        sitting=snapshot.sitting,
        view=msgspec.json.decode(snapshot.for_projector),
        spelled=spelled(snapshot.sitting.code),
        address=_shown_address(request),
        bench=bench_of(snapshot.sitting.id),
        own=shared(request).shelves.words(),
    )


def _shown_address(request: Request) -> str:
    """The address to join, as shown on the projector."""
    return f"{join_base(request).partition('://')[2]}/join"


def lead_state(request: Request) -> Response:
    """GET /teach/SITTING/state: the instructor's view as JSON, for a page without a socket."""
    snapshot = _snapshot(request)
    return _state(request, snapshot, snapshot.for_instructor, Contact.for_instructor)


def projector_state(request: Request) -> Response:
    """GET /teach/SITTING/projector/state: the projector's view as JSON."""
    snapshot = _snapshot(request)
    return _state(request, snapshot, snapshot.for_projector, Contact.for_projector)


def _state(
    request: Request, snapshot: Snapshot, view: bytes, told: Callable[[Contact], dict[str, Any]]
) -> Response:
    contact = contact_of(away(records(request)), shared(request).heard, snapshot)
    return as_json({**msgspec.json.decode(view), "contact": told(contact)})


def code_picture(request: Request) -> Response:
    """GET /teach/SITTING/code.svg: the address to join, as a QR code."""
    sitting = lesson_sitting(records(request), request.path_params["sitting"])
    drawn = io.BytesIO()
    segno.make(join_address(request, sitting), error="m", micro=False).save(
        drawn, kind="svg", border=3, dark="#000", light="#fff", xmldecl=False, omitsize=True
    )
    return Response(drawn.getvalue(), media_type="image/svg+xml")


def _moved(school: School, id: str, given: SentMove) -> Sitting:
    with _MOVING:
        sitting = lesson_sitting(school, id)
        if (sitting.step, sitting.phase) != (given.step, given.phase):
            raise Refused(409, "lesson", "it has already moved on", "look at the present step")
        lesson = lesson_of(sitting.source)
        step, phase = teaching.moved(lesson, teaching.standing(sitting, lesson), given.do, given.to)
        if given.do == "count":
            return school.sittings.count_down(id, given.to, closes=given.closes)
        if given.do == "end":
            return school.sittings.move(id, closed=True, code="")
        return school.sittings.move(id, step=step, phase=phase)


async def move(request: Request) -> Response:
    """POST /teach/SITTING/move: moves the lesson, if it is at the step shown on the page."""
    body = await request.body()
    try:
        given = msgspec.json.decode(body[:GREATEST_JSON_BYTES], type=SentMove)
    except (msgspec.DecodeError, UnicodeDecodeError):
        raise InputError("move", "not a valid request", "reload the page") from None
    id = request.path_params["sitting"]
    moved = await run_in_threadpool(lambda: _moved(records(request), id, given))
    return as_json({"step": moved.step, "phase": moved.phase, "over": bool(moved.closed_utc)})


PAGE = Page(
    "/teach",
    "Teach",
    [
        get("/teach", choose),
        post("/teach", begin, choose, most_fields=8, file_bytes=GREATEST_FILE_BYTES),
        get("/teach/{sitting}", lead),
        get("/teach/{sitting}/state", lead_state),
        Route("/teach/{sitting}/move", move, methods=["POST"]),
        get("/teach/{sitting}/code.svg", code_picture),
        get("/teach/{sitting}/projector", projector),
        get("/teach/{sitting}/projector/state", projector_state),
        *phone.ROUTES,
        *lines.ROUTES,
    ],
)
