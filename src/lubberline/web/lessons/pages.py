"""The Lessons pages: the shelf, the editor with its preview, and what is printed; complete without script."""

from __future__ import annotations

from contextlib import suppress
from typing import Any

import jinja2
from anyio import to_thread
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from lubberline import __version__
from lubberline.classroom.lessons.file import GREATEST_BYTES, lesson_from_text
from lubberline.classroom.lessons.questions import Worked, worked
from lubberline.errors import InputError
from lubberline.publish.handout import instructor_pdf, student_pdf
from lubberline.simulation import CAUTIONS
from lubberline.web.framed import go_to, just_binned
from lubberline.web.lessons.looks import lesson_look
from lubberline.web.lessons.shelf import Shelf, checked_name, digest_of
from lubberline.web.pages import STATIC, THEMES
from lubberline.web.questions.asked import sent_fields
from lubberline.web.refusals import Refused
from lubberline.web.sent import sent_form, text_of

SAMPLE = """# A new lesson

minutes: 10
aim: Say what the class can do after it.

## Say: What we ask today
minutes: 1

Write here what you say.

> Lines that begin with > are notes for you alone.

## Predict: Fifteen minutes at 45 north
answer: dial
scene: fifteen_minutes_45n
at: 900
asks: shown.indicated_deg
topic: wander
ideas: no-earth-wander
because: The Earth turns under the gyro.

We fly north with a perfect gyro for fifteen minutes. What will the card read?

## Reveal: A quarter of an hour
"""
DONE = {"saved": "Saved.", "brought-back": "Brought back.", "deleted": "Deleted for good."}
_PDF = {"handout": student_pdf, "instructor": instructor_pdf}
TEMPLATES = jinja2.Environment(
    loader=jinja2.ChoiceLoader(
        [jinja2.PackageLoader("lubberline.web", folder) for folder in ("templates/lessons", "templates")]
    ),
    autoescape=True,
    undefined=jinja2.StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)


def _shelf(request: Request) -> Shelf:
    found: Shelf = request.app.state.lessons
    return found


def _page(
    request: Request, template: str, error: InputError | None = None, status: int = 200, **given: Any
) -> Response:
    theme = request.cookies.get("theme", "auto")
    html = TEMPLATES.get_template(template).render(
        theme=theme if theme in THEMES else "auto",
        version=__version__,
        cautions=CAUTIONS,
        built=(STATIC / "questions.js").is_file(),
        error=error,
        done=DONE.get(request.query_params.get("done", ""), ""),
        binned=just_binned(request),
        **given,
    )
    return HTMLResponse(html, status_code=status)


def _name(request: Request) -> str:
    """The lesson's name in the address.

    Raises:
        Refused: it can be none.
    """
    try:
        return checked_name(request.path_params["name"])
    except InputError as error:
        raise Refused(404, error.where, error.wrong, error.right, error.code) from None


def _list_page(request: Request, error: InputError | None = None) -> Response:
    return _page(request, "list.html", error, 422 if error else 200, lessons=_shelf(request).listed())


async def show_list(request: Request) -> Response:
    """GET /lessons: the demo's lessons and one's own."""
    return await to_thread.run_sync(_list_page, request)


async def begin(request: Request) -> Response:
    """POST /lessons: a new lesson by its name, from the sample or from a file."""
    sent = await sent_form(request, GREATEST_BYTES)

    def work() -> Response:
        shelf = _shelf(request)
        try:
            name = checked_name(sent.fields.get("name", "").strip())
            if shelf.text(name) is not None:
                raise InputError("name", f"'{name}' is there already", "another name, or open it below")
            text = text_of(sent.file).replace("\r\n", "\n") if sent.file else SAMPLE
            shelf.keep_draft(name, text)
        except InputError as error:
            return _list_page(request, error)
        return RedirectResponse(f"/lessons/{name}", status_code=303)

    return await to_thread.run_sync(work)


def _edit_page(
    request: Request, name: str, text: str, error: InputError | None = None, based: str | None = None
) -> Response:
    """The editor: the text, and its preview or what is wrong with it."""
    shelf = _shelf(request)
    look, wrong = None, None
    try:
        look = lesson_look(worked(lesson_from_text(f"{name}.md", text)))
    except InputError as found:
        wrong = found
    saved = shelf.saved(name)
    return _page(
        request,
        "edit.html",
        error or wrong,
        422 if error else 200,
        name=name,
        text=text,
        text_wrong=wrong is not None,
        based=(digest_of(saved) if saved is not None else "") if based is None else based,
        own=shelf.is_own(name),
        unsaved=text != saved,
        look=look,
    )


async def show_one(request: Request) -> Response:
    """GET /lessons/NAME: the text, as it was last written, and its preview."""
    name = _name(request)

    def work() -> Response:
        text = _shelf(request).text(name)
        if text is None:
            raise Refused(404, "lesson", f"there is no lesson '{name}'", "choose one at /lessons")
        return _edit_page(request, name, text)

    return await to_thread.run_sync(work)


async def _sent(request: Request) -> dict[str, str]:
    fields = await sent_fields(request)
    return {key: value.replace("\r\n", "\n") for key, value in fields.items()}


async def preview(request: Request) -> Response:
    """POST /lessons/NAME: what is written is kept as a draft, and shown."""
    name, fields = _name(request), await _sent(request)

    def work() -> Response:
        text, error = fields.get("text", ""), None
        try:
            _shelf(request).keep_draft(name, text)
        except InputError as found:
            error = found
        return _edit_page(request, name, text, error, fields.get("based"))

    return await to_thread.run_sync(work)


async def save(request: Request) -> Response:
    """POST /lessons/NAME/save: the file is written, under another name where one is given."""
    name, fields = _name(request), await _sent(request)

    def work() -> Response:
        shelf, text = _shelf(request), fields.get("text", "")
        other = fields.get("as", "").strip()
        try:
            to = checked_name(other) if other else name
            based = fields.get("based", "") if to == name else ""
            shelf.save(to, text, based)
            if to != name:
                shelf.drop_draft(name)
        except InputError as error:
            # Whatever is wrong, what was written goes back to its writer's screen.
            with suppress(InputError):
                shelf.keep_draft(name, text)
            return _edit_page(request, name, text, error, fields.get("based"))
        return RedirectResponse(f"/lessons/{to}?done=saved", status_code=303)

    return await to_thread.run_sync(work)


async def drop(request: Request) -> Response:
    """POST /lessons/NAME/drop: unsaved changes go into the bin, as they stand on the page."""
    name, fields = _name(request), await _sent(request)

    def work() -> Response:
        shelf = _shelf(request)
        if fields.get("text"):
            try:
                shelf.keep_draft(name, fields["text"])
            except InputError as error:
                # Nothing goes into the bin that could not be brought back as it stands on the page.
                return _edit_page(request, name, fields["text"], error, fields.get("based"))
        address = f"/lessons/{name}" if shelf.saved(name) is not None else "/lessons"
        if shelf.draft(name) is None:
            return go_to(address)
        binned = shelf.put_in(request.app.state.school.bin, shelf.deletable("draft", name))
        return go_to(address, binned=binned.id)

    return await to_thread.run_sync(work)


async def take(request: Request) -> Response:
    """POST /lessons/NAME/file.md: the text itself as a file, right or not: it is its writer's."""
    name, fields = _name(request), await _sent(request)
    told = {"content-disposition": f'attachment; filename="{name}.md"'}
    return Response(
        fields.get("text", "").encode("utf-8", "replace"), media_type="text/markdown", headers=told
    )


def _worked(request: Request, name: str) -> Worked:
    text = _shelf(request).text(name)
    if text is None:
        raise Refused(404, "lesson", f"there is no lesson '{name}'", "choose one at /lessons")
    return worked(lesson_from_text(f"{name}.md", text))


async def show_print(request: Request) -> Response:
    """GET /lessons/NAME/print: the sheets for students and for the instructor."""
    name = _name(request)

    def work() -> Response:
        title, error = name, None
        try:
            title = _worked(request, name).lesson.title
        except InputError as found:
            error = found
        return _page(request, "print.html", error, name=name, title=title)

    return await to_thread.run_sync(work)


async def take_pdf(request: Request) -> Response:
    """GET /lessons/NAME/print/SHEET.pdf: one of them."""
    name, sheet = _name(request), request.path_params["sheet"]
    if sheet not in _PDF:
        raise Refused(404, "sheet", f"there is no sheet '{sheet[:40]}'", "handout or instructor")
    made = await to_thread.run_sync(lambda: _PDF[sheet](_worked(request, name)))
    told = {"content-disposition": f'inline; filename="{name}-{sheet}.pdf"'}
    return Response(made, media_type="application/pdf", headers=told)


ROUTES = [
    Route("/lessons", show_list, methods=["GET"]),
    Route("/lessons", begin, methods=["POST"]),
    Route("/lessons/{name}", show_one, methods=["GET"]),
    Route("/lessons/{name}", preview, methods=["POST"]),
    Route("/lessons/{name}/save", save, methods=["POST"]),
    Route("/lessons/{name}/drop", drop, methods=["POST"]),
    Route("/lessons/{name}/file.md", take, methods=["POST"]),
    Route("/lessons/{name}/print", show_print, methods=["GET"]),
    Route("/lessons/{name}/print/{sheet}.pdf", take_pdf, methods=["GET"]),
]
