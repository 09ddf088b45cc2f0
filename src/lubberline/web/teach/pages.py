"""The instructor's side of a live class: choosing a lesson, leading it, the projector's page."""

from __future__ import annotations

import hashlib
import io
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import msgspec
import segno
from anyio import to_thread
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from lubberline.classroom.lessons import teaching
from lubberline.classroom.lessons.file import lesson_from_text, read_lesson
from lubberline.classroom.lessons.lesson import Lesson
from lubberline.classroom.lessons.questions import taught_lesson
from lubberline.classroom.records import Sitting
from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.web import passphrase
from lubberline.web.catalogue import demo_folder
from lubberline.web.kit import records, shared
from lubberline.web.refusals import Refused, keep_sent
from lubberline.web.sides import lan_addresses
from lubberline.web.teach.contact import (
    Contact,
    away,
    contact_of,
    fields_for_class,
    fields_for_instructor,
)
from lubberline.web.teach.looks import page
from lubberline.web.teach.snapshot import Snapshot, lesson_of, lesson_sitting
from lubberline.web.typed import class_meant, real_groups

GREATEST_FILE_BYTES = 200_000
GREATEST_JSON_BYTES = 4_000
# Between looking where the lesson stands and moving it nobody else may move it.
_MOVING = threading.Lock()


class SentMove(msgspec.Struct, forbid_unknown_fields=True):
    """What the instructor's page asks for, and where it believes the lesson to stand."""

    do: teaching.Do
    step: int
    phase: str
    to: int = teaching.JOINING


class Listed(NamedTuple):
    """A lesson that may be taught."""

    id: str
    title: str
    minutes: float
    aim: str
    path: Path


def lessons_listed(own: Path) -> tuple[Listed, ...]:
    """One's own lessons, then those of the demo without an own copy; one that is not right is left out."""
    found: list[Listed] = []
    demo = sorted((demo_folder() / "lessons").glob("*.md"))
    for path in [*sorted(own.glob("*.md")), *demo]:
        if any(one.id == path.stem for one in found):
            continue
        try:
            lesson = read_lesson(path)
        except InputError:
            continue
        found.append(Listed(path.stem, lesson.title, lesson.minutes, lesson.aim, path))
    return tuple(found)


def join_base(request: Request) -> str:
    """The address under which students reach this server."""
    door = shared(request).door
    if door.behind:
        return str(door.behind)
    port = (request.scope.get("server") or ("", 80))[1]
    names = lan_addresses() if door.lan else ()
    return f"http://{names[0] if names else '127.0.0.1'}:{port}"


def bench_of(id: str) -> str:
    """The name of the bench that the projector of a sitting plays on."""
    return "class-" + hashlib.sha256(id.encode()).hexdigest()[:12]


def _choosing(request: Request, wrong: str = "") -> Response:
    school: School = records(request)
    going = [one for one in school.sittings() if one.kind == "lesson" and not one.closed_utc]
    return page(
        request,
        "teach.html",
        422 if wrong else 200,
        lessons=lessons_listed(shared(request).lessons.folder),
        groups=real_groups(school),
        going=going,
        wrong=wrong,
        locked=passphrase.is_set(school),
    )


async def choose(request: Request) -> Response:
    """GET /teach: which lesson, with which class."""
    return await to_thread.run_sync(_choosing, request)


async def _chosen(request: Request) -> tuple[Lesson, str, str]:
    """The lesson, the class's id and the title of a new one, as sent."""
    async with request.form(max_files=1, max_fields=8) as form:
        group, title = str(form.get("group", "")), str(form.get("new_group", "")).strip()
        file, wanted = form.get("file"), str(form.get("lesson", ""))
        if not isinstance(file, UploadFile) or not file.filename:
            keep_sent(request, {name: value for name, value in form.items() if isinstance(value, str)})
        if isinstance(file, UploadFile) and file.filename:
            return await _own_lesson(file, file.filename), group, title
    listed = next((one for one in lessons_listed(shared(request).lessons.folder) if one.id == wanted), None)
    if listed is None:
        raise InputError("lesson", "none is chosen", "choose one of the list, or a file of your own")
    return read_lesson(listed.path), group, title


async def _own_lesson(file: UploadFile, filename: str) -> Lesson:
    # Of a path that a browser gives only the file's own name is said, and nothing of it is opened.
    name = Path(filename.replace("\\", "/")).name[:80]
    data = await file.read(GREATEST_FILE_BYTES + 1)
    if len(data) > GREATEST_FILE_BYTES:
        raise InputError(name, "it is too large", f"a lesson of at most {GREATEST_FILE_BYTES // 1000} kB")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise InputError(name, "it is no text in UTF-8", "a lesson file (Markdown)") from None
    return lesson_from_text(name, text)


def _begun(school: School, lesson: Lesson, group: str, new_group: str) -> tuple[Sitting, str]:
    """A sitting of a lesson at which the class joins, and how its class was meant: see `ClassMeant`.

    Raises:
        InputError: no class, or a lesson that the engine does not bear out.
    """
    lesson_of(lesson.text)
    meant = class_meant(school, group, new_group)
    before = school.sittings(meant.id) if meant.id else ()
    taught_before = sum(one.title == lesson.title for one in before)
    # Taught again, its quiz asks with other numbers.
    asked = taught_lesson(lesson, taught_before).asked
    sitting = school.add_sitting(meant.made(school), "lesson", lesson.title, asked, source=lesson.text)
    return school.move_sitting(sitting.id, step=teaching.JOINING, phase=teaching.CLOSED), meant.said


async def begin(request: Request) -> Response:
    """POST /teach: opens a sitting of the lesson, at which the class joins."""
    try:
        lesson, group, title = await _chosen(request)
        sitting, said = await to_thread.run_sync(lambda: _begun(records(request), lesson, group, title))
    except InputError as error:
        wrong = f"{error.where}: {error.wrong}; {error.right}."
        return await to_thread.run_sync(_choosing, request, wrong)
    return RedirectResponse(f"/teach/{sitting.id}{f'?class={said}' if said else ''}", status_code=303)


def _led(request: Request, name: str, view: str) -> Response:
    snapshot = Snapshot(records(request), request.path_params["sitting"])
    sitting, base = snapshot.sitting, join_base(request)
    more: dict[str, Any] = {}
    if name == "lead.html":
        groups = records(request).groups()
        more["group"] = next((one.title for one in groups if one.id == sitting.group), "")
        more["class_said"] = request.query_params.get("class", "")
        more["others"] = lan_addresses()[1:] if shared(request).door.lan else ()
        more["is_open"] = shared(request).door.lan or bool(shared(request).door.behind)
    return page(
        request,
        name,
        sitting=sitting,
        view=msgspec.json.decode(getattr(snapshot, view)),
        address=f"{base.partition('://')[2]}/join",
        bench=bench_of(sitting.id),
        **more,
    )


async def lead(request: Request) -> Response:
    """GET /teach/SITTING: the instructor's own view."""
    return await to_thread.run_sync(_led, request, "lead.html", "for_instructor")


async def projector(request: Request) -> Response:
    """GET /teach/SITTING/projector: what the class sees."""
    return await to_thread.run_sync(_led, request, "projector.html", "for_projector")


def _state(request: Request, view: str, fields: Callable[[Contact], dict[str, Any]]) -> Response:
    snapshot = Snapshot(records(request), request.path_params["sitting"])
    seen = msgspec.json.decode(getattr(snapshot, view))
    why = away(records(request))
    contact = fields(contact_of(why, shared(request).heard, snapshot))
    return Response(msgspec.json.encode({**seen, "contact": contact}), media_type="application/json")


async def lead_state(request: Request) -> Response:
    """GET /teach/SITTING/state: the instructor's view as JSON, for a page without a line."""
    return await to_thread.run_sync(_state, request, "for_instructor", fields_for_instructor)


async def projector_state(request: Request) -> Response:
    """GET /teach/SITTING/projector/state: the projector's view as JSON."""
    return await to_thread.run_sync(_state, request, "for_projector", fields_for_class)


def _picture(request: Request) -> Response:
    sitting = lesson_sitting(records(request), request.path_params["sitting"])
    code = segno.make(f"{join_base(request)}/join?code={sitting.code}", error="m", micro=False)
    drawn = io.BytesIO()
    code.save(drawn, kind="svg", border=3, dark="#000", light="#fff", xmldecl=False, omitsize=True)
    return Response(drawn.getvalue(), media_type="image/svg+xml")


async def code_picture(request: Request) -> Response:
    """GET /teach/SITTING/code.svg: the address to join at, as a picture that phones read."""
    return await to_thread.run_sync(_picture, request)


def _moved(school: School, id: str, given: SentMove) -> Sitting:
    with _MOVING:
        sitting = lesson_sitting(school, id)
        if (sitting.step, sitting.phase) != (given.step, given.phase):
            raise Refused(409, "lesson", "it has moved on since", "look at where it stands")
        lesson = lesson_of(sitting.source)
        stands = teaching.standing(sitting, lesson)
        step, phase = teaching.moved(lesson, stands, given.do, given.to)
        if given.do == "end":
            return school.move_sitting(id, closed=True, code="")
        return school.move_sitting(id, step=step, phase=phase)


async def move(request: Request) -> Response:
    """POST /teach/SITTING/move: the lesson goes on, if it stands where the page believes it to."""
    body = await request.body()
    try:
        given = msgspec.json.decode(body[:GREATEST_JSON_BYTES], type=SentMove)
    except (msgspec.DecodeError, UnicodeDecodeError):
        raise InputError("move", "it is none", "reload the page") from None
    moved = await to_thread.run_sync(lambda: _moved(records(request), request.path_params["sitting"], given))
    told = {"step": moved.step, "phase": moved.phase, "over": bool(moved.closed_utc)}
    return Response(msgspec.json.encode(told), media_type="application/json")


ROUTES = [
    Route("/teach", choose, methods=["GET"]),
    Route("/teach", begin, methods=["POST"]),
    Route("/teach/{sitting}", lead, methods=["GET"]),
    Route("/teach/{sitting}/state", lead_state, methods=["GET"]),
    Route("/teach/{sitting}/move", move, methods=["POST"]),
    Route("/teach/{sitting}/code.svg", code_picture, methods=["GET"]),
    Route("/teach/{sitting}/projector", projector, methods=["GET"]),
    Route("/teach/{sitting}/projector/state", projector_state, methods=["GET"]),
]
