"""The Lessons pages: the shelf, the editor with its preview, the sheets to print; complete without script."""

from contextlib import suppress
from typing import Any

from lubberline.classroom.lessons.file import GREATEST_BYTES, lesson_from_text
from lubberline.classroom.lessons.lesson import Lesson, Step
from lubberline.classroom.lessons.questions import TaughtLesson, taught_lesson
from lubberline.classroom.lessons.text import lesson_html
from lubberline.classroom.lessons.timing import timed
from lubberline.classroom.records import Asked
from lubberline.publish.papers.answers import key_words
from lubberline.publish.reports.handout import instructor_pdf, student_pdf
from lubberline.questions.item import LETTERS
from lubberline.web.kit import (
    NO_FORM,
    Form,
    InputError,
    Page,
    Refused,
    Request,
    Response,
    file,
    get,
    go_to,
    page,
    post,
    records,
    required,
    shared,
)
from lubberline.web.lessons.shelf import Shelf, checked_name, digest_of

SAMPLE = """# A new lesson

minutes: 10
aim: Say what the class can do after it.

## Say: What we ask today
minutes: 1

Write here what you will say.

> Lines that start with > are notes for you only.

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
_PDF = {"handout": student_pdf, "instructor": instructor_pdf}


def _shelf(request: Request) -> Shelf:
    return shared(request).lessons


def _name(request: Request) -> str:
    """The lesson's name in the address.

    Raises:
        Refused: it is not a valid name.
    """
    try:
        return checked_name(request.path_params["name"])
    except InputError as error:
        raise Refused(404, error.where, error.wrong, error.right, error.code) from None


def show_list(request: Request, form: Form = NO_FORM, error: InputError | None = None) -> Response:
    """GET /lessons: demo lessons and own lessons."""
    return page(request, "lessons/list.html", error, lessons=_shelf(request).listed())


def begin(request: Request, form: Form) -> Response:
    """POST /lessons: a new lesson by its name, from the sample or from a file."""
    shelf = _shelf(request)
    name = checked_name(form.get("name", "").strip())
    if shelf.text(name) is not None:
        raise InputError("name", f"'{name}' exists already", "choose another name, or open it below")
    shelf.keep_draft(name, form.file.text if form.file else SAMPLE)
    return go_to(f"/lessons/{name}")


def _edit_page(
    request: Request, name: str, text: str, error: InputError | None = None, based: str | None = None
) -> Response:
    """The editor: the text, and its preview or its error."""
    shelf = _shelf(request)
    look, wrong = None, None
    try:
        look = lesson_look(taught_lesson(lesson_from_text(f"{name}.md", text)))
    except InputError as found:
        wrong = found
    saved = shelf.saved(name)
    return page(
        request,
        "lessons/edit.html",
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


def _edit_again(request: Request, form: Form, error: InputError | None) -> Response:
    return _edit_page(request, _name(request), form.get("text", ""), error, form.get("based"))


def _text(request: Request, name: str) -> str:
    return required(
        _shelf(request).text(name),
        Refused(404, "lesson", f"there is no lesson '{name}'", "choose one at /lessons"),
    )


def show_one(request: Request) -> Response:
    """GET /lessons/NAME: the text, including unsaved changes, and its preview."""
    name = _name(request)
    return _edit_page(request, name, _text(request, name))


def preview(request: Request, form: Form) -> Response:
    """POST /lessons/NAME: stores the text as a draft and shows it."""
    _shelf(request).keep_draft(_name(request), form.get("text", ""))
    return _edit_again(request, form, None)


def save(request: Request, form: Form) -> Response:
    """POST /lessons/NAME/save: writes the file, under another name if one is given."""
    name, shelf, text = _name(request), _shelf(request), form.get("text", "")
    other = form.get("as", "").strip()
    try:
        to = checked_name(other) if other else name
        shelf.save(to, text, form.get("based", "") if to == name else "")
        if to != name:
            shelf.drop_draft(name)
    except InputError:
        # Whatever is wrong, the text goes back to the screen.
        with suppress(InputError):
            shelf.keep_draft(name, text)
        raise
    return go_to(f"/lessons/{to}", "saved")


def drop(request: Request, form: Form) -> Response:
    """POST /lessons/NAME/drop: moves unsaved changes to the bin, as on the page."""
    name, shelf = _name(request), _shelf(request)
    if form.get("text"):
        # Only what can be brought back as on the page goes into the bin.
        shelf.keep_draft(name, form["text"])
    address = f"/lessons/{name}" if shelf.saved(name) is not None else "/lessons"
    if shelf.draft(name) is None:
        return go_to(address)
    return go_to(address, binned=shelf.put_in(records(request).bin, shelf.deletable("draft", name)).id)


def take(request: Request, form: Form) -> Response:
    """POST /lessons/NAME/file.md: the text as a file, even with errors."""
    return file(f"{_name(request)}.md", form.get("text", "").encode("utf-8", "replace"))


def _worked(request: Request, name: str) -> TaughtLesson:
    return taught_lesson(lesson_from_text(f"{name}.md", _text(request, name)))


def show_print(request: Request) -> Response:
    """GET /lessons/NAME/print: the sheets for students and for the instructor."""
    name = _name(request)
    title, error = name, None
    try:
        title = _worked(request, name).lesson.title
    except InputError as found:
        error = found
    return page(request, "lessons/print.html", error, 200, name=name, title=title)


def take_pdf(request: Request) -> Response:
    """GET /lessons/NAME/print/SHEET.pdf: one of them."""
    name, sheet = _name(request), request.path_params["sheet"]
    if sheet not in _PDF:
        raise Refused(404, "sheet", f"there is no sheet '{sheet[:40]}'", "use handout or instructor")
    return file(f"{name}-{sheet}.pdf", _PDF[sheet](_worked(request, name)), shown=True)


def lesson_look(taught_lesson: TaughtLesson) -> dict[str, Any]:
    """The data for the template of the preview."""
    lesson = taught_lesson.lesson
    rows = timed(lesson)
    return {
        "title": lesson.title,
        "aim": lesson.aim,
        "needs": lesson.needs,
        "minutes": lesson.minutes,
        "estimated": sum(row.estimated_min for row in rows),
        "questions": len(taught_lesson.asked),
        "steps": [
            _step(lesson, index, step, taught_lesson.of_step(index))
            | {"estimated": row.estimated_min, "off": row.plan_is_off}
            for index, (step, row) in enumerate(zip(lesson.steps, rows, strict=True))
        ],
    }


def _step(lesson: Lesson, index: int, step: Step, asked: tuple[Asked, ...]) -> dict[str, Any]:
    show = step.show
    return {
        "number": index + 1,
        "kind": step.kind,
        "title": step.title,
        "line": step.line,
        "html": lesson_html(step.text),
        "notes": lesson_html(step.notes),
        "planned": step.minutes,
        "scene": show.scene if show else "",
        "bench": show.bench if show else "",
        "from": show.from_s if show else 0.0,
        "to": show.to_s if show else 0.0,
        "reveals": lesson.steps[step.reveals].title if step.reveals >= 0 else "",
        "asked": [_asked(one, predicted=step.question is not None) for one in asked],
    }


def _asked(one: Asked, *, predicted: bool) -> dict[str, Any]:
    item = one.item
    return {
        "stem": "" if predicted else lesson_html(item.stem),
        "right": key_words(item),
        "reason": item.reason,
        "rows": [
            {
                "answer": option.text if item.kind == "number" else f"{LETTERS[place]}. {option.text}",
                "right": place == item.key,
                "idea": option.misconception,
                "means": option.feedback,
            }
            for place, option in enumerate(item.slips if item.kind == "number" else item.options)
        ],
    }


PAGE = Page(
    "/lessons",
    "Lessons",
    [
        get("/lessons", show_list),
        post("/lessons", begin, show_list, file_bytes=GREATEST_BYTES),
        get("/lessons/{name}", show_one),
        post("/lessons/{name}", preview, _edit_again),
        post("/lessons/{name}/save", save, _edit_again),
        post("/lessons/{name}/drop", drop, _edit_again),
        post("/lessons/{name}/file.md", take),
        get("/lessons/{name}/print", show_print),
        get("/lessons/{name}/print/{sheet}.pdf", take_pdf),
    ],
)
